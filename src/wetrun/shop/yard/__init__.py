"""What comes in from the yard, late and perhaps twice: entries by their own key, and second readings of one tip."""
