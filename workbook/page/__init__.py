"""The form in the page: widget, session, script and style."""
