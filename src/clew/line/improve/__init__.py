"""What to change: crews, speeds, buffers and improvements, tried on the same shifts."""
