"""From records to answers: the same files and the same computations as the command line's."""
