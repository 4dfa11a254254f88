"""Measure the pitch of a voice."""

import numpy as np

from drill.core.models import Clip

_FRAME_S, _HOP_S = 0.04, 0.01
_LOWEST_HZ, _HIGHEST_HZ = 60, 400
_LEAST_RMS = 0.05
_LEAST_CORRELATION = 0.5
_HIGH_PEAK_SHARE = 0.9


def median_pitch_hz(clip: Clip) -> float:
    """Return the median pitch of a clip in Hz, 60 to 400, or 0 if no frame has a pitch.

    By autocorrelation over frames of 40 ms; soft frames and frames without periodicity are left
    out.
    """
    size, hop = round(_FRAME_S * clip.rate_hz), round(_HOP_S * clip.rate_hz)
    starts = range(0, len(clip.samples) - size, hop)
    frames = np.array([clip.samples[start : start + size] for start in starts], np.float64)
    loud = np.sqrt(np.mean(frames**2, axis=1)) > _LEAST_RMS
    window = np.hanning(size)
    shortest, longest = clip.rate_hz // _HIGHEST_HZ, clip.rate_hz // _LOWEST_HZ
    window_correlation = np.fft.irfft(np.abs(np.fft.rfft(window, 2 * size)) ** 2)[: longest + 1]
    pitches_hz = []
    for frame in frames[loud] * window:
        correlation = np.fft.irfft(np.abs(np.fft.rfft(frame, 2 * size)) ** 2)[: longest + 1]
        # Without this division, the window would lower the correlation at long periods.
        correlation = correlation / window_correlation
        correlation /= correlation[0]
        candidates = correlation[shortest:]
        if candidates.max() < _LEAST_CORRELATION:
            continue
        # Take the first peak that is nearly the highest, because two periods correlate as well as
        # one.
        is_peak = (candidates[1:-1] >= candidates[:-2]) & (candidates[1:-1] > candidates[2:])
        peaks = np.flatnonzero(is_peak) + 1
        high_peaks = peaks[candidates[peaks] > _HIGH_PEAK_SHARE * candidates.max()]
        if len(high_peaks):
            pitches_hz.append(clip.rate_hz / (shortest + int(high_peaks[0])))
    return float(np.median(pitches_hz)) if pitches_hz else 0.0
