"""The two times of a hunt, in samples of AUDIO_RATE_HZ since its start.

Ear time: what the trainee's receiver has played. Story time: what the stations have done. The story
runs AHEAD of the ear, so that speech can be synthesised before it is heard. Sample n of the story
is heard at ear time n. An act at ear time t changes the story from t + AHEAD; only the receiver's
dial turns at t.
"""

from drill.contact.air import samples

AHEAD_S = 0.4
"""Lead of the story in seconds; part of every record, because it decides when an over begins."""
AHEAD = samples(AHEAD_S)


def story_time(ear: int) -> int:
    """Return how far the story has come at an ear time."""
    return ear + AHEAD
