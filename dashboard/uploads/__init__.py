"""Files that readers send on the page Intake: tried, loaded, and site maps kept."""
