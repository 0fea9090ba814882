"""Accounts of the school's people: signing in, who sees what, and the log of both.

They lie in the book's own database, beside the record and never in it: no export and no seal holds them.
"""
