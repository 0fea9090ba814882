"""The book: the training record of a school, kept so that a change to what was signed shows."""

from chalkwing.book.book import Book, open_book

__all__ = ["Book", "open_book"]
