"""What a notebook talks to: open a lesson, explore, predict, answer, check, and keep a record of it all."""
