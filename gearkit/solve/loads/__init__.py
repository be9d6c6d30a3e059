"""Torque, losses and power of a range. Outside this folder ask `torques`, and `power` for its records."""
