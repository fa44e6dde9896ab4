"""What people type as they would say it, read into numbers."""
