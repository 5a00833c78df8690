"""The ground floor: buildings, sites, accounts, people, roles, and the books that both wings write in."""
