"""What the settings did, and what a log cannot tell apart."""
