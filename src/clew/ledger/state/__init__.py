"""What stands now, derived from the records: never kept, always folded anew."""
