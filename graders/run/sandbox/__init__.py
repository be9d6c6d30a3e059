"""The walls round learner code: layers, their choice, the proof by attack, and the Linux calls they are made of."""
