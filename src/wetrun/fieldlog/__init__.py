"""What a sprayer's own log says: the trace, its cleaning, its ledger of demand, and the replay of a set-up over it."""
