"""The figures of a received over in sentences, for terminal and page alike."""

from drill.listen.figures import WEAK_FADING_DB, AudioFigures


def describe_delivery(figures: AudioFigures) -> str:
    """Return one or two sentences about SNR, PEP and level of the audio, and the neighbours."""
    snr = "no noise" if figures.snr_db is None else f"SNR {figures.snr_db:.1f} dB in 3 kHz"
    gain_db = figures.processing_gain_db
    processing = f", {gain_db:.1f} dB of it from speech processing" if abs(gain_db) > 0.05 else ""
    return (
        f"{snr}{processing}; PEP {figures.pep_over_speech_db:.1f} dB above the speech level; "
        f"audio level {figures.mean_db:.1f} dB mean, {figures.peak_db:.1f} dB peak."
        f"{_describe_neighbours(figures)}"
    )


def _describe_neighbours(figures: AudioFigures) -> str:
    """Return a sentence about each neighbour's level, starting with a space; none without any."""
    levels = "; ".join(
        f"{neighbour.offset_hz:+.0f} Hz: {neighbour.requested_db:.1f} requested, "
        f"{neighbour.measured_db:.1f} measured, {neighbour.passband_db:.1f} after the filter"
        for neighbour in figures.neighbours
    )
    return f" SNR of neighbours in dB: {levels}." if levels else ""


def describe_picture(figures: AudioFigures) -> str:
    """Return one sentence about the levels and the fading in the picture of an over."""
    low_db, middle_db, high_db = figures.level_quantiles_db
    levels = (
        f"{figures.seconds:.1f} s; the level is below {low_db:.0f}, {middle_db:.0f} and "
        f"{high_db:.0f} dB for 10, 50 and 90 % of the time"
    )
    if figures.fading_range_db is None:
        return f"{levels}; no fading."
    lowest_db, highest_db = figures.fading_range_db
    return (
        f"{levels}; fading from {lowest_db:.0f} to {highest_db:+.0f} dB at 1500 Hz, more than "
        f"{-WEAK_FADING_DB:.0f} dB down for {100 * figures.weak_share:.0f} % of the time."
    )
