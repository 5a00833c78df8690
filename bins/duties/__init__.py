"""Duties: which a site has, who does them, cover for one another, and who looks after the place."""
