"""The commands, a module each; `generator.cli` loads the one that is asked for."""
