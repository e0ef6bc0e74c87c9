"""Messages as the page sends them."""

COIL = "coil_current"
LOAD = "load_current"
AFTER = "load_current_after_repair"


def send(clerk, action, item="", number=1, **fields):
    """Send one message and return the reply's content."""
    message = {"id": "m1", "action": action, "item": item, **fields}
    return clerk.answer(number, message).content


def predict(clerk, item, raw, number=1):
    """Echo a number, then record it."""
    send(clerk, "echo", item, number, raw=raw)
    return send(clerk, "prediction", item, number, raw=raw)


def predict_all(clerk, number=1):
    """Record both predictions of the sample exercise."""
    predict(clerk, COIL, "148 mA", number)
    return predict(clerk, LOAD, "12,2 A", number)


def measure(clerk, test, expected, outcome, statement="s1", number=1):
    """Do a test and record its finding: by default the right statement."""
    send(clerk, "test", test, number, expected=expected)
    return send(clerk, "finding", test, number, outcome=outcome, statement=statement)


def conclude(clerk, cause="c03", correction="r03", number=1):
    """Record a conclusion."""
    return send(
        clerk,
        "conclusion",
        "conclusion",
        number,
        cause=cause,
        correction=correction,
    )


def remarks(part):
    """The labels of what is said to a part."""
    return [remark["label"] for remark in part["remarks"]]


def parts(clerk, number=1):
    """All parts of an exercise's page, by key."""
    view = clerk.view(number)
    shown = [*view["sections"], *view["beside"]["panels"]]
    return {part["key"]: part for each in shown for part in each["parts"]}


def options(form):
    """The tests on offer, whatever place they are listed under."""
    groups = form["fields"][0]["groups"]
    kinds = [kind for group in groups for kind in group["kinds"]]
    return [option for kind in kinds for option in kind["options"]]
