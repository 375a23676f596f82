"""When to replace a part that wears out without much warning: chance of failure against cost."""

__version__ = "0.1.0"
