"""The words of a card in one language."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from assess.reports.cards import Card, CardSet
    from assess.reports.messages import Messages

__all__ = ["CardWords"]


class CardWords:
    """Sentences with values as methods, the words that are always the same in `fixed`."""

    def __init__(self, texts: Messages) -> None:
        self.texts = texts
        self.fixed = {
            "run-table": texts.say("card.run-table"),
            "marks-table": texts.say("card.marks-table"),
            "safety-table": texts.say("card.safety-table"),
            "bib": texts.say("card.bib"),
            "note": texts.say("card.note"),
            "when": texts.say("card.when"),
            "began": texts.say("card.began"),
            "ended": texts.say("card.ended"),
            "criterion": texts.say("card.criterion"),
            "seen-for": texts.say("card.seen-for"),
            "seen-against": texts.say("card.seen-against"),
            "level": texts.say("card.level"),
            "drills": texts.say("card.drills"),
            "safety": texts.say("card.safety"),
            "done": texts.say("card.done"),
            "missed": texts.say("card.missed"),
            "violated": texts.say("card.violated"),
            "not-applicable": texts.say("card.not-applicable"),
            "notes": texts.say("card.notes"),
            "back": texts.say("card.back"),
            "audience": texts.say("card.audience"),
            "shadow": texts.say("card.shadow"),
        }

    def title(self, cards: CardSet) -> str:
        """Whose cards, of which course."""
        return self.texts.say("card.title", marker=cards.marker, course=cards.title)

    def which(self, card: Card) -> str:
        """Card 2 of 5."""
        return self.texts.say("card.which", task=card.task, place=str(card.place), all=str(card.of))

    def qr(self, card: Card) -> str:
        """What the picture says, for whoever cannot see it."""
        return self.texts.say("card.qr", code=card.code)

    def number(self, card: Card) -> str:
        """The number by which it is typed in."""
        return self.texts.say("card.number", number=card.number)

    def run(self, card: Card) -> str:
        """Which run, or the overall mark."""
        if card.run == 0:
            return self.texts.say("card.overall")
        return self.texts.say("card.run", run=str(card.run), runs=str(card.runs))

    def codes(self, cards: CardSet) -> str:
        """What is written into a box."""
        return self.texts.say("card.codes", lowest=str(cards.lowest), highest=str(cards.highest))
