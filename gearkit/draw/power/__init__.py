"""The power path through a stick diagram. Outside this folder ask `power_picture`."""
