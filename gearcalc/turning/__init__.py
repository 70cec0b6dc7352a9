"""What the tool does at each turn of the spindle: feeds, finish, depth, and the shoulder ahead."""
