"""The pages: a server for one desk, that takes recordings in and shows lessons."""
