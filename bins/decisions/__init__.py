"""The night: gather what the rules look at, write what they propose, settle what a person answers."""
