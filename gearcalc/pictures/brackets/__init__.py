"""Pictures of trains on their bracket, to scale, with what is tight and what fouls."""
