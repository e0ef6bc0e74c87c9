"""Commands that need a module of their own; `generator.cli` registers them."""
