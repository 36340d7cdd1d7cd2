"""False contacts and false breaks."""
