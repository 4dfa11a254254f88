"""What is likely to be said next in a contact, so that its speech can be synthesised ahead.

It decides nothing: a wrong prediction is never heard.
"""

from drill.contact.acts import CALL, EXCHANGE, PART
from drill.contact.far_states import Decision, State
from drill.contact.live import LiveContact
from drill.contact.overs import FAR, TRAINEE
from drill.contact.rendered_air import speech_seed
from drill.items.prefetch_worker import SpeechRequest


def foreseen_speech(contact: LiveContact) -> tuple[SpeechRequest, ...]:
    """Return the overs that may be next, the likeliest first; empty for a contact that has ended.

    They are those of the far station and, by keys, of the trainee.
    """
    if contact.ended:
        return ()
    mine = [over for over in contact.frequency.trace if over.speaker == TRAINEE]
    said = {kind for over in mine for kind in over.over.kind.split("+")}
    state = contact.frequency.far.operator.state
    if not mine:
        return (*_own(contact, CALL), *_far(contact, State.CALLING))
    if EXCHANGE in said or state is State.AWAITING_EXCHANGE:
        return (*_far(contact, State.ENDING), *_own(contact, EXCHANGE), *_own(contact, PART))
    return (*_far(contact, State.GIVING), *_own(contact, EXCHANGE), *_far(contact, State.CALLING))


def _far(contact: LiveContact, state: State) -> tuple[SpeechRequest, ...]:
    """Return the far station's next over, with the trainee's whole call if it says one."""
    frequency = contact.frequency
    call = tuple(frequency.trainee.speaker.call) if state is State.GIVING else ()
    operator = frequency.station.speaker.operator
    number = sum(over.speaker == FAR for over in frequency.trace)
    if operator is None:
        return ()
    return (
        SpeechRequest(
            words=frequency.far.next_over(Decision(state, call)).words,
            operator=operator,
            seed=speech_seed(frequency.station.seed, FAR, number),
        ),
    )


def _own(contact: LiveContact, kind: str) -> tuple[SpeechRequest, ...]:
    """Return what the trainee would say by a key."""
    frequency = contact.frequency
    operator = frequency.trainee.speaker.operator
    number = sum(over.speaker == TRAINEE for over in frequency.trace)
    if operator is None:
        return ()
    return (
        SpeechRequest(
            words=contact.saying(kind).words,
            operator=operator,
            seed=speech_seed(frequency.station.seed, TRAINEE, number),
        ),
    )
