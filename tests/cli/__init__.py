"""The command line, run in this process and as a process of its own."""
