"""Pictures of trains: gears that are gears, meshing in phase, and the thread that they cut."""
