"""Turns the model's single speaker into many by changing pitch, formants and breath before
synthesis.

The model gives log spectra of a harmonic part and of two noise parts, and the pitch, for each
frame. Each can be changed separately, which is impossible in the finished sound.
"""

from dataclasses import replace

import numpy as np

from drill.core.models import Operator
from drill.voices.engines.natural.network import SpectralFrames
from drill.voices.engines.natural.quantised import Singles
from drill.voices.people.styles import vocal_style_of

BIN_WIDTH_HZ = 20.0
_MODEL_PITCH_HZ = 200.0  # median of the model's own pitch over composed calls
_VOICED_HZ = 40.0  # the synthesis treats a lower pitch as unvoiced
_PITCH_RANGE_HZ = (50.0, 450.0)
_FIRST_FORMANT_HZ = 900.0  # below this, a style's scale of the first formant applies in full
_OTHER_FORMANTS_HZ = 2000.0  # above this, it does not apply
_NEPER_PER_DB = np.log(10) / 20


def apply_operator(frames: SpectralFrames, operator: Operator) -> SpectralFrames:
    """Return the frames as the operator speaks them; the operator's style is already applied.

    Of the style, only the shift of the first formant is applied here.
    """
    pitch_hz = move_pitch(frames.pitch_hz, operator)
    voiced = frames.pitch_hz > _VOICED_HZ
    # A lower pitch puts more harmonics into each band; keep the voice's level relative to the
    # breath's.
    harmonic_gain = np.zeros_like(pitch_hz)
    # In double precision: single-precision log and power differ between processors.
    ratio = pitch_hz[voiced].astype(np.float64) / frames.pitch_hz[voiced]
    harmonic_gain[voiced] = 0.5 * np.log(ratio)
    breath_gain = (voiced * (operator.breath_db * _NEPER_PER_DB)).astype(np.float32)
    scale, first_formant = operator.formant_scale, vocal_style_of(operator).first_formant_scale
    return replace(
        frames,
        harmonic=scale_formants(frames.harmonic, scale, first_formant) + harmonic_gain,
        harmonic_phase=scale_formants(frames.harmonic_phase, scale, first_formant),
        noise=scale_formants(frames.noise, scale, first_formant) + breath_gain,
        residue=scale_formants(frames.residue, scale, first_formant) + breath_gain,
        pitch_hz=pitch_hz,
    )


def move_pitch(pitch_hz: Singles, operator: Operator) -> Singles:
    """Return the pitch curve (frames,) around the operator's pitch.

    Its movement is scaled by `melody` on a logarithmic axis; unvoiced frames stay as they are.
    """
    voiced = pitch_hz > _VOICED_HZ
    moved = pitch_hz.copy()
    ratio = pitch_hz[voiced].astype(np.float64) / _MODEL_PITCH_HZ
    curve = operator.pitch_hz * ratio**operator.melody
    moved[voiced] = np.clip(curve, *_PITCH_RANGE_HZ)
    return moved


def scale_formants(spectra: Singles, scale: float, first_formant: float = 1.0) -> Singles:
    """Return spectra (601, frames) with the frequency axis stretched by `scale`.

    first_formant: an additional factor up to 900 Hz; it falls to 1 at 2 kHz. Values between bins
    are interpolated.
    """
    if scale == 1 and first_formant == 1:
        return spectra
    last = spectra.shape[0] - 1
    source = np.minimum(np.arange(last + 1) / scale, last)
    if first_formant != 1:
        low, high = _FIRST_FORMANT_HZ / BIN_WIDTH_HZ, _OTHER_FORMANTS_HZ / BIN_WIDTH_HZ
        source = np.interp(source, [0, low * first_formant, high, last], [0, low, high, last])
    below = np.minimum(source.astype(np.intp), last - 1)
    share = (source - below).astype(np.float32)[:, None]
    return np.asarray(spectra[below] * (1 - share) + spectra[below + 1] * share, dtype=np.float32)
