"""The terminal screen of hearthcalc."""
