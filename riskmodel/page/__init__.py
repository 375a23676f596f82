"""The page on which a person weighs one case."""

from riskmodel.page.main import main

__all__ = ["main"]
