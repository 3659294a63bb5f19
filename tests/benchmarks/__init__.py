"""Speed and memory, each as a ratio of two things measured side by side in one run.

``python -m tests.benchmarks`` prints the table. Ratios travel between machines, seconds do not.
"""
