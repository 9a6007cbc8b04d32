"""Reading files that a scale, a detector or a person wrote: every bad row with its place."""
