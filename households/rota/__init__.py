"""Pure: slots and duties assigned fairly, exactly, and so that they stay put. README.md says how."""
