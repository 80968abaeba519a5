"""Long work that outlives a page, a worker and a server."""
