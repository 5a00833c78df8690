"""Pure: a harvest divided fairly, in whole tubs, with what is owed carried to the next time."""
