"""What is told to the ledger: kinds of event, how a message is read, and what is kept of it."""
