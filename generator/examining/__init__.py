"""An examination in one room: its record, its clock, and readings given one by one."""
