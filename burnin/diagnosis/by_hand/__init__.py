"""What people saw and measured, as they type it, become evidence."""
