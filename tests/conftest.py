"""What every test shares."""

from tests.unlocked import ledger_unlocked

__all__ = ["ledger_unlocked"]
