"""A layout in a vehicle: quantities with units, vehicle files, and what every range does on the road."""
