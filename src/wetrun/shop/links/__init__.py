"""Links that let somebody without an account see one record, for one purpose, until a day."""
