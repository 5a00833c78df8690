"""The invented block: eighteen months in which people did what the script here says, day by day.

Nothing is drawn at random and no row is written by hand. What people do is arithmetic on the number of the day;
what becomes of it is up to the same services and the same nights as anybody's. The drums stand indoors, where no
rule asks for the season: so the whole history may be moved by any number of days and every night would have said
the same.
"""
