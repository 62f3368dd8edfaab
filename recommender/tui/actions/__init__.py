"""What the interface does when it is asked to: each file one thing that the application owns."""
