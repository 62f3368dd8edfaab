"""What the interface remembers: fields of the form, the blades compared, the session."""
