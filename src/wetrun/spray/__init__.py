"""Physics of a boom: orifice, carrier, droplets, turning, known areas."""
