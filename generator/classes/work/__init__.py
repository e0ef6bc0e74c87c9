"""Jobs that are done in other processes, a module each, which `jobs` loads by name."""
