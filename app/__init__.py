"""What shows the job: the window and the command line. All figures come from ``core``."""
