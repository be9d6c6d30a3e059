"""The commands ratios, speeds and torques for layouts with machines, several outputs or given speeds and torques."""
