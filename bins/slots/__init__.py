"""Set times for bringing scraps: slots, who comes when, closed days, and what happens when nothing is open."""
