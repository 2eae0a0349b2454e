"""Pure statistics: counts in, figures out. No SQL, no frames of a store, no clock."""
