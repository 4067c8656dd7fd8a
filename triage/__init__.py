"""What does the buyer see and do?"""

__version__ = "0.1.0"
