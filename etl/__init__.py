"""Middle floor: read site logs, map, screen, load them and publish an edition."""
