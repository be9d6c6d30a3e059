"""What a mechanic meets: shifts, faults, and the diagnosis from readings. Import any module of it."""
