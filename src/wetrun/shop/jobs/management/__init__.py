"""The worker's command."""
