"""What the worker does: the handlers of jobs."""
