"""Pure: what happens inside a drum, and what follows from it. No framework, no clock, no other room."""
