"""Two ways to use a page: with a mouse, and with a keyboard alone."""

MOST_TABS = 400


class Mouse:
    """Points and clicks."""

    def __init__(self, page):
        self.page = page
        # Heard from the beginning: a dialogue that opens before is the system's own.
        page.on("filechooser", lambda _: None)

    def press(self, locator):
        """Press a button, a link or a heading that opens something."""
        locator.click()

    def write(self, locator, text):
        """Write into a field, in place of what stands there."""
        locator.click()
        locator.fill(text)

    def tick(self, locator):
        """Tick a box or choose a radio button."""
        locator.check()

    def pick(self, locator, text):
        """Pick from a list."""
        locator.select_option(label=text)

    def files(self, locator, paths):
        """Choose files."""
        with self.page.expect_file_chooser() as chooser:
            locator.evaluate("(input) => input.labels[0].click()")
        chooser.value.set_files(paths)


class Keyboard(Mouse):
    """Goes by Tab, and presses keys."""

    def press(self, locator):
        self._go_to(locator)
        self.page.keyboard.press("Enter")

    def write(self, locator, text):
        self._go_to(locator)
        self.page.keyboard.press("ControlOrMeta+a")
        self.page.keyboard.type(text)

    def tick(self, locator):
        if locator.is_checked():
            return
        if locator.get_attribute("type") == "checkbox":
            self._go_to(locator)
            self.page.keyboard.press("Space")
            return
        name = locator.get_attribute("name")
        self._go_to(self.page.locator(f'input[name="{name}"]:checked'))
        while not locator.is_checked():
            self.page.keyboard.press("ArrowDown")

    def pick(self, locator, text):
        self._go_to(locator)
        self.page.keyboard.type(text)

    def files(self, locator, paths):
        self._go_to(locator)
        with self.page.expect_file_chooser() as chooser:
            self.page.keyboard.press("Enter")
        chooser.value.set_files(paths)

    def _go_to(self, locator):
        """Press Tab until something has the focus, whatever is between."""
        locator.wait_for()
        for _ in range(MOST_TABS):
            if locator.evaluate("(one) => one === document.activeElement"):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"no Tab leads to {locator}")
