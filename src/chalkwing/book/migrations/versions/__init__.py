"""The steps by which a book's tables came to be as they are."""
