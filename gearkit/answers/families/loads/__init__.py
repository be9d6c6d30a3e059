"""Families about torque, power and losses; import `torques`, `element_torques`, `efficiency` and `power`."""
