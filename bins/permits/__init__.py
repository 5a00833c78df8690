"""What an authority asks of a site: limits it has set, and what was recorded in a period."""
