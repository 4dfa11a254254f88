"""A finished contact over by over: the words, what the far end heard, and the sounds."""

from dataclasses import dataclass

import numpy as np

from drill.contact.air import OnAir
from drill.contact.callers import addresses
from drill.contact.hearing import HeardOver
from drill.contact.live import LiveContact
from drill.contact.overs import FAR, MISSED, TRAINEE, without_gaps
from drill.contact.rendered_air import RenderedAir
from drill.contact.slips import SlipPart
from drill.core.models import Clip
from drill.radio import AUDIO_RATE_HZ
from drill.scoring.answers import align_characters

OWN_VOICE_DB = -12.0
"""Level of the trainee's voice when a whole contact is replayed."""


@dataclass(frozen=True, kw_only=True, slots=True)
class SaidOver:
    """An over of a finished contact.

    at_s: its start; seconds: its length. who: "they", "you" or "other". parts: its words, with
    errors in the trainee's call marked; by microphone, the recognised words.
    heard: the words that the far end heard in an over of the trainee, "" for none; None for the
    overs of others. audible: the trainee could hear it.
    """

    at_s: float
    seconds: float
    who: str
    parts: tuple[SlipPart, ...]
    heard: str | None
    audible: bool

    @property
    def text(self) -> str:
        """The words in one line, "" if nothing is known of them."""
        return "".join(part.text for part in self.parts)


def contact_overs(contact: LiveContact) -> tuple[OnAir, ...]:
    """Return the overs until the end of a contact, in the order of their starts."""
    return tuple(o for o in contact.frequency.trace if o.start < contact.ended_at)


def said_overs(contact: LiveContact) -> tuple[SaidOver, ...]:
    """Return the overs of a contact that has ended, in order."""
    own_call = contact.frequency.trainee.speaker.call
    return tuple(
        SaidOver(
            at_s=round(over.start / AUDIO_RATE_HZ, 2),
            seconds=round((over.end - over.start) / AUDIO_RATE_HZ, 2),
            who={FAR: "they", TRAINEE: "you"}.get(over.speaker, "other"),
            parts=_parts(over, own_call),
            heard=_heard(contact, over) if over.speaker == TRAINEE else None,
            audible=over.participant.near_db is not None,
        )
        for over in contact_overs(contact)
    )


def _parts(over: OnAir, own_call: str) -> tuple[SlipPart, ...]:
    if not over.over.words:
        return (SlipPart(over.over.said, wrong=False),) if over.over.said else ()
    wrong = _wrong_words(over, own_call) if over.speaker == FAR else frozenset()
    parts: list[SlipPart] = []
    plain = ""
    for index, word in enumerate(over.over.words):
        plain += " " if index else ""
        if index in wrong:
            parts += [SlipPart(plain, wrong=False), SlipPart(word.say, wrong=True)]
            plain = word.pause
        else:
            plain += word.say + word.pause
    parts.append(SlipPart(plain, wrong=False))
    return tuple(part for part in parts if part.text)


def _wrong_words(over: OnAir, own_call: str) -> frozenset[int]:
    """Return which words of a far station's over get the trainee's call wrong."""
    said = without_gaps(over.over.call)
    spelt = [index for index, word in enumerate(over.over.words) if word.field == "part"]
    if len(spelt) != len(said) or not addresses(over.over.call, own_call):
        return frozenset()
    pairs = [pair for pair in align_characters(own_call, said) if pair.typed]
    return frozenset(
        index for index, pair in zip(spelt, pairs, strict=True) if pair.sent != pair.typed
    )


def render_over(contact: LiveContact, index: int, *, clean: bool) -> Clip:
    """Return the sound of an over: at the trainee's ear, or at the far end if it is the trainee's.

    index: in contact_overs. clean: without noise, fading and other voices.
    Raises: IndexError; NoVoice.
    """
    air = contact.frequency.air
    assert isinstance(air, RenderedAir)
    over = contact_overs(contact)[index]
    if clean:
        return air.render_clean(over)
    end, deaf = ("far", FAR) if over.speaker == TRAINEE else ("near", TRAINEE)
    others = [o for o in contact.frequency.trace if o.speaker != deaf]
    return air.render(end, others, over.start, over.end)


def render_contact(contact: LiveContact) -> Clip:
    """Return the whole contact as the trainee heard it, with the trainee's voice while sending."""
    air = contact.frequency.air
    assert isinstance(air, RenderedAir)
    overs = contact_overs(contact)
    others = [over for over in overs if over.speaker != TRAINEE]
    audio = air.render("near", others, 0, contact.ended_at).samples.copy()
    for over in overs:
        if over.speaker != TRAINEE:
            continue
        audio[over.start : over.end] = 0
        own = air.render_clean(over).samples * np.float32(10 ** (OWN_VOICE_DB / 20))
        begin = over.times[0][0] if over.times else over.start
        space = audio[begin : min(begin + len(own), over.end)]
        space += own[: len(space)]
    return Clip(samples=audio, rate_hz=AUDIO_RATE_HZ)


def _heard(contact: LiveContact, over: OnAir) -> str:
    """Return the first result of the far end's ears after an over."""
    for at, heard in contact.frequency.far.listenings:
        if at >= over.end:
            return " / ".join(filter(None, map(heard_text, heard)))
    return ""


def heard_text(heard: HeardOver) -> str:
    """Return heard words as one line: characters joined, "?" for each one that was not made out."""
    parts: list[str] = []
    for token in heard.tokens:
        characters = not token.text.islower()
        text = token.text or MISSED
        if characters and parts and not parts[-1].islower():
            parts[-1] += text
        else:
            parts.append(text)
    return " ".join(parts)
