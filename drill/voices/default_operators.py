"""The operators that speak if the user names none.

They have all passed the voice gate (tests/measured/voice_gate.md). Formant voices are much harder
to understand, so they speak only if the natural engine cannot.
"""

from drill import voices
from drill.core.models import Operator
from drill.voices.engines.studio.speed import studio_is_quick_enough
from drill.voices.operators import find_operators
from drill.voices.people.roster import (
    FORMANT_GROUP,
    NATURAL_GROUP,
    STUDIO_GROUP,
    default_members,
)


def default_operators(*, with_studio: bool) -> tuple[Operator, ...]:
    """Return the natural operators, or the formant ones if the natural engine does not work here.

    with_studio: add the studio operators if their engine is installed and this computer was
    measured to be quick enough for them. A caller that passes True has to prefetch.

    Raises: NoVoice if no operator can speak; the message names the remedies.
    """
    natural = default_members(NATURAL_GROUP)
    problems = voices.engine_problems(natural)
    usable = tuple(operator for operator in natural if operator.engine not in problems)
    if not usable:
        return voices.usable_operators((*natural, *find_operators([FORMANT_GROUP])))
    if not with_studio or not studio_is_quick_enough():
        return usable
    studio = default_members(STUDIO_GROUP)
    problems = voices.engine_problems(studio)
    return (*usable, *(operator for operator in studio if operator.engine not in problems))
