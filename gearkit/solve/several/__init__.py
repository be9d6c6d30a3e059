"""Trains with any number of inputs, machines and outputs, exactly: `motions`, `speeds_given`, `torques_given`."""
