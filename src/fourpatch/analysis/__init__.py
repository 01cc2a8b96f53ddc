"""What a run or the car at rest says: grip, loads, motion, modes."""
