"""Results as the models say them: proposal, reasons, alternatives, whole blade, life, and the trace of rules."""
