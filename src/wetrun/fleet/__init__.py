"""The same work over many logs and many machines: on this computer's cores, or on a cluster."""
