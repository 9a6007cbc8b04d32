"""Steam and dryer: what condenses on the yarn, what the dryer must take off, what it costs."""
