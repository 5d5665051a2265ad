"""The models of draft, heat and steel: a record's numbers and an edition in, one frozen result out. No finding, no sentence."""
