"""How it goes, told: as data, as a table, as a page. What is told is worked out by the logbook."""
