"""Messages as the page sends them."""

COIL = "coil_current"
LOAD = "load_current"
AFTER = "load_current_after_repair"


def send(desk, action, item="", number=1, **fields):
    """Send one message and return the reply's content."""
    message = {"id": "m1", "action": action, "item": item, **fields}
    return desk.answer(number, message).content


def predict(desk, item, raw, number=1):
    """Echo a number, then record it."""
    send(desk, "echo", item, number, raw=raw)
    return send(desk, "prediction", item, number, raw=raw)


def predict_all(desk, number=1):
    """Record both predictions of the sample exercise."""
    predict(desk, COIL, "148 mA", number)
    return predict(desk, LOAD, "12,2 A", number)


def measure(desk, test, expected, outcome, statement="s1", number=1):
    """Do a test and record its finding: by default the right statement."""
    send(desk, "test", test, number, expected=expected)
    return send(desk, "finding", test, number, outcome=outcome, statement=statement)


def conclude(desk, cause="c03", correction="r03", number=1):
    """Record a conclusion."""
    return send(
        desk, "conclusion", "conclusion", number, cause=cause, correction=correction
    )


def remarks(part):
    """The labels of what is said to a part."""
    return [remark["label"] for remark in part["remarks"]]


def parts(desk, number=1):
    """All parts of an exercise's page, by key."""
    sections = desk.view(number)["sections"]
    return {part["key"]: part for each in sections for part in each["parts"]}
