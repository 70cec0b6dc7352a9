"""What every room stands on: errors, exact numbers, reading and writing, cautions."""
