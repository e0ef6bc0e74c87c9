"""A million bent inputs for everything that reads what students send."""
