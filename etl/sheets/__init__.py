"""Master data: sheets of settings, wrenches, crews, trainings, plans and so on."""
