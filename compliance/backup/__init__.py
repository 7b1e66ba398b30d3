"""Backups: the database, the kept files and a list of both in one file, and the way back, proved at each end."""
