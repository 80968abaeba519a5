"""The records a shop keeps."""
