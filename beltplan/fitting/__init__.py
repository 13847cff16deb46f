"""`beltplan fit`: what whoever fits the belt needs at the engine, in the order of the work."""
