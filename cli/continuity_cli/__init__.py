"""The command line of continuity, thin: it parses, calls the library, and prints."""
