"""What a layout does: verdicts, ratios, speeds, torques, shifts and faults, all exact."""
