"""Forms made of the documents' own entries: what was typed stays typed, and every refusal stands at its field."""
