"""What is recorded and what it means: pure functions, no input or output."""
