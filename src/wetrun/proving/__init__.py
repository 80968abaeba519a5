"""What a wet run measures: speed course, flow meter, monitor settings, and how sure each of them is."""
