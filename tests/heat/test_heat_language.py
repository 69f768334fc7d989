"""The heat model's sentences in the reader's language, though a weld is calculated once."""

import pytest

from advisor.errors import NoAdviceError
from advisor.heat.history import WeldHistory
from advisor.heat.parameters import Options
from advisor.heat.weld import simulate
from advisor.language import speaking
from advisor.weld.electrode import CapShape, Electrode
from advisor.weld.setting import Setting
from advisor.weld.sheet import Sheet, Surface
from advisor.weld.stack import AdhesiveState, Bond, Stack

CAP = Electrode(CapShape.DOME, 6)
ROUGH = Options(fineness=0.4, steps=60, frames=2)


def spat_in_wet() -> WeldHistory:
    wet = Stack((Sheet(1.0), Sheet(1.0)), (Bond("glue", AdhesiveState.WET),))
    return simulate(wet, Setting(16, 400, 2.0), CAP, ROUGH)


def test_notes_of_one_weld_are_said_to_each_reader(pseudo):
    weld = spat_in_wet()
    with speaking("de"):
        assert weld.notes[0].startswith("⟦Calculated as if there were no adhesive")
        assert weld.notes[1].startswith("⟦The calculation reached ")
    assert weld.notes[0].startswith("Calculated as if there were no adhesive")


def test_why_metal_is_thrown_out_is_kept_in_english(pseudo):
    with speaking("de"):
        weld = spat_in_wet()
    assert weld.expulsion is not None
    assert weld.expulsion.reason.startswith("the ")


def test_a_surface_without_figures_is_refused_in_the_language(pseudo):
    primed = Stack((Sheet(1.0, lower=Surface.WELD_PRIMER), Sheet(1.0)))
    with speaking("de"), pytest.raises(NoAdviceError, match="⟦weld-through primer⟧; it covers"):
        simulate(primed, Setting(9, 200, 2.5), CAP, ROUGH)
