"""The named scenarios and what they say of themselves."""

import pytest

from pullcall.errors import UnknownNameError
from pullcall.simulators.scenario import names, scenario


@pytest.mark.parametrize("name", names())
def test_a_named_scenario_describes_a_simulated_cook(name: str) -> None:
    cook = scenario(name, seed=7)
    header = cook.header()
    assert header.simulated
    assert header.cook == f"simulated-{name}-7"
    assert header.names() == tuple(scene.steak for scene in cook.steaks)


@pytest.mark.parametrize("name", names())
def test_probes_lie_inside_their_steaks_on_channels_of_their_own(name: str) -> None:
    probed = [scene for scene in scenario(name).steaks if scene.probe]
    assert len({scene.channel for scene in probed}) == len(probed)
    for scene in probed:
        assert scene.channel
        depth = scene.probe.depth_mm if scene.probe else None
        assert depth is None or 0.0 < depth < scene.cut.thickness_mm


def test_an_unknown_scenario_is_refused_with_the_names_there_are() -> None:
    with pytest.raises(UnknownNameError, match="use one of demo, backyard"):
        scenario("banquet")
