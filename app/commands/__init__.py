"""The sub-commands of ``tain``, one module each: ``SUMMARY``, ``add_arguments(parser)``, ``run(arguments)``."""
