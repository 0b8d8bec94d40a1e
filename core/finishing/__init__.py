"""After the laser: paint order, masks, timetable, bonding."""
