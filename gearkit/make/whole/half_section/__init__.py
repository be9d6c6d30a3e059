"""What is worked out in the half-section alone: pieces, parts, their order, joints, and where screws go."""
