"""What a shop bears: hundreds of machines, dozens of people at once, killed servers. Bounded, on this computer only."""
