"""The codes of invented areas compared with the codes of real countries and areas.

Sources: ISO 3166-1 alpha-3 and ISO 3166-2, as the library pycountry ships them; the rest are values
from memory.
"""

import pycountry
import pytest

from phonetics.word_lists import area_names, area_set_names

# Country codes used in sport, sections and states in North America, Australian states: from memory.
OTHER_REAL_CODES = """
    ALG ANG BAH BAR BER BUL CAM CHA CHI CRC CRO DEN FIJ GER GRE GUA HAI HON INA IRI KSA KUW LAT LBA
    LIB MAD MAS MON MYA NED NEP NGR OMA PAR PHI POR PUR RSA SLO SRI SUD SUI TAN TOG UAE URU VIE ZAM
    ZIM ENG SCO WAL NIR EMA WMA ENY NLI NNJ NNY SNJ WNY EPA WPA MDC NFL SFL WCF WTX STX NTX EWA WWA
    ORG SBA SCV SDG SJV PAC MAR GTA NSW VIC QLD TAS ACT AGS BCN COA COL DGO GTO JAL MEX OAX SIN VER
"""


@pytest.mark.parametrize("name", area_set_names())
def test_no_area_has_the_code_of_a_real_country_or_area(name: str) -> None:
    countries = {country.alpha_3 for country in pycountry.countries}
    subdivisions = {entry.code.partition("-")[2] for entry in pycountry.subdivisions}
    assert {"DEU", "CHE"} <= countries
    assert {"ENG", "ON"} <= subdivisions
    codes = set(area_names(name))
    assert all(len(code) == 3 for code in codes)
    assert not codes & (countries | subdivisions | set(OTHER_REAL_CODES.split()))
