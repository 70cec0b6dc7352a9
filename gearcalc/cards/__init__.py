"""Papers for the machine: the card for a change-over, and the fault-finder."""

from gearcalc.cards.change_cards import ChangeCard, as_mounted, change_card

__all__ = ["ChangeCard", "as_mounted", "change_card"]
