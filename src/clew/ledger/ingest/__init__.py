"""How events come in: files, HTTP, a broker; every message read, kept or refused with a reason."""
