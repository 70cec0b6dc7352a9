"""Pictures for the shop: the dial, measurements, the finish, the shoulder, what a set of gears reaches, the plate."""
