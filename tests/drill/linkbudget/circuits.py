"""Hypothesis strategies for stations and circuits."""

from hypothesis import strategies as st

from drill.linkbudget.budget import Circuit, LinkEnd
from drill.linkbudget.noise_levels import NOISE_CATEGORIES

FREQUENCIES_MHZ = st.floats(0.3, 30)
CATEGORIES = st.sampled_from(sorted(NOISE_CATEGORIES))
LOSSES_DB = st.floats(0, 60)
LINK_ENDS = st.builds(
    LinkEnd,
    watts=st.floats(0.001, 1000),
    antenna_db=st.floats(-40, 40),
    shortening_loss_db=LOSSES_DB,
    line_loss_db=LOSSES_DB,
    noise_category=CATEGORIES,
    atmospheric_db=st.none() | st.floats(-40, 120),
)
CIRCUITS = st.builds(
    Circuit,
    here=LINK_ENDS,
    there=LINK_ENDS,
    frequency_mhz=FREQUENCIES_MHZ,
    path_snr_db=st.floats(-60, 90),
)
