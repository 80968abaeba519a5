"""backup, restore, check_backup."""
