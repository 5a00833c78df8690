"""Who comes and who goes: joining, moving out, forgetting."""
