"""What the engine answers: proposal, trial, life, swept rows."""
