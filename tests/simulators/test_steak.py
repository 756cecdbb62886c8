"""A steak as a cook knows it: carry-over, flips, limits."""

from dataclasses import replace

import pytest

from pullcall.simulators.conduction import Face
from pullcall.simulators.steak import Cut, Place, Steak

AIR_C = 20.0
DT = 0.5


def cook(steak: Steak, grate_c: float, flip_at: float = 240.0, pull_c: float = 53.9) -> float:
    """Cook under a closed lid until the core is at ``pull_c``; return the seconds it took."""
    steak.put_on()
    t = 0.0
    while steak.core_c() < pull_c:
        steak.step(DT, grate_c, AIR_C, lid_open=False)
        t += DT
        if t == flip_at:
            steak.flip()
        assert t < 7200.0
    return t


def peak_of_rest(steak: Steak, place: Place) -> float:
    steak.take_off(place)
    peak = steak.core_c()
    for _ in range(1200):
        steak.step(DT, AIR_C, AIR_C, lid_open=True)
        peak = max(peak, steak.core_c())
    return peak


@pytest.mark.parametrize("place", [Place.RACK, Place.BOARD])
def test_the_core_carries_over_by_two_to_five_degrees(place: Place) -> None:
    # Common practice, no source: about 5 F (2.8 C) for a 1.25 in (31.75 mm) steak.
    steak = Steak(Cut(31.75, 15.0))
    cook(steak, 290.0)
    carry_over = peak_of_rest(steak, place) - 53.9
    assert 1.5 < carry_over < 6.0


def test_a_dry_slab_under_the_same_flux_overshoots_far_more() -> None:
    # A dry slab (check: 10.3 K at 200 C, second implementation computed with scipy) has nothing
    # that cools its faces but air; the same meat with wet faces carries over a third of that.
    wet, dry = Steak(Cut(32.0, 5.0)), Steak(Cut(32.0, 5.0)).slab
    cook(wet, 290.0)
    hot, above, rest = Face(180.0, 290.0), Face(28.0, 200.0), Face(18.0, AIR_C)
    t = 0.0
    while dry.core_c() < 53.9:
        dry.step(DT, hot, above)
        t += DT
        if t == 240.0:
            dry.flip()
    peak = dry.core_c()
    for _ in range(1200):
        dry.step(DT, rest, rest)
        peak = max(peak, dry.core_c())
    assert peak - 53.9 > 3.0 * (peak_of_rest(wet, Place.RACK) - 53.9)


def test_a_contest_steak_takes_about_as_long_as_contest_steaks_do() -> None:
    # Common practice, no source: 1.25 in over a grate above 500 F (260 C) is pulled after 8-14 min.
    assert 480.0 < cook(Steak(Cut(31.75, 15.0)), 290.0) < 840.0


def test_a_hotter_fire_is_never_later() -> None:
    times = [cook(Steak(Cut()), grate_c) for grate_c in (200.0, 240.0, 280.0, 320.0, 360.0)]
    assert times == sorted(times, reverse=True)
    assert times[0] - times[-1] > 60.0


def test_a_thicker_or_colder_steak_is_always_later() -> None:
    base = cook(Steak(Cut(32.0, 15.0)), 290.0)
    assert cook(Steak(Cut(36.0, 15.0)), 290.0) > base
    assert cook(Steak(Cut(32.0, 5.0)), 290.0) > base


def test_without_a_fire_nothing_rises() -> None:
    steak = Steak(Cut(32.0, AIR_C))
    steak.put_on()
    for _ in range(1200):
        steak.step(DT, AIR_C, AIR_C, lid_open=True)
        assert steak.slab.cells_c.max() <= AIR_C + 1e-9


def test_a_steak_that_waits_does_not_change() -> None:
    steak = Steak(Cut(32.0, 5.0))
    steak.step(DT, 300.0, AIR_C, lid_open=True)
    assert steak.slab.cells_c.min() == steak.slab.cells_c.max() == 5.0


def test_turning_over_keeps_every_place_in_the_meat_at_its_temperature() -> None:
    steak = Steak(Cut(32.0, 5.0))
    steak.put_on()
    for _ in range(200):
        steak.step(DT, 290.0, AIR_C, lid_open=False)
    before = [steak.at(depth) for depth in (2.0, 10.0, 16.0, 27.0)]
    assert before[3] > before[0] + 5.0  # depth counts from the upper face; the fire is below
    steak.flip()
    assert [steak.at(depth) for depth in (2.0, 10.0, 16.0, 27.0)] == pytest.approx(before)
    steak.flip()
    assert [steak.at(depth) for depth in (2.0, 10.0, 16.0, 27.0)] == pytest.approx(before)


def test_a_flip_takes_the_crust_along() -> None:
    steak = Steak(Cut())
    steak.put_on()
    for _ in range(400):
        steak.step(DT, 290.0, AIR_C, lid_open=False)
    below, above = (surface.crust_m for surface in steak.surfaces)
    assert below > above
    steak.flip()
    assert [surface.crust_m for surface in steak.surfaces] == [above, below]


def test_a_quarter_turn_dips_the_heat_for_a_while() -> None:
    turned, left_alone = Steak(Cut()), Steak(Cut())
    gaps = []
    for steak in (turned, left_alone):
        steak.put_on()
    for step in range(400):
        if step == 200:
            turned.turn()
        for steak in (turned, left_alone):
            steak.step(DT, 290.0, AIR_C, lid_open=False)
        gaps.append(left_alone.slab.flux_in(0) - turned.slab.flux_in(0))
    assert gaps[199] == 0.0
    assert gaps[202] > 100.0  # W/m2
    assert abs(gaps[399]) < gaps[202] / 5.0


def test_basting_cools_only_the_upper_face() -> None:
    steak = Steak(Cut())
    cook(steak, 290.0, flip_at=200.0, pull_c=30.0)
    before = steak.slab.cells_c.copy()
    steak.baste(20.0)
    assert steak.slab.cells_c[-1] < before[-1]
    assert (steak.slab.cells_c[:-1] == before[:-1]).all()
    # Mixing conserves heat: 0.12 kg/m2 of water at 4186 J/(kg K) against one cell of meat.
    cell_heat = steak.slab.heat_capacity * 0.032 / 41
    gained = 0.12 * 4186.0 * (steak.slab.cells_c[-1] - 20.0)
    assert gained == pytest.approx(cell_heat * (before[-1] - steak.slab.cells_c[-1]))


def test_an_open_lid_slows_the_cooking() -> None:
    shut, opened = Steak(Cut()), Steak(Cut())
    for steak, lid_open in ((shut, False), (opened, True)):
        steak.put_on()
        for _ in range(800):
            steak.step(DT, 290.0, AIR_C, lid_open=lid_open)
    assert opened.core_c() < shut.core_c() - 1.0


def test_a_box_keeps_a_steak_warmer_than_a_rack() -> None:
    cores = []
    for boxed in (False, True):
        steak = Steak(Cut())
        cook(steak, 290.0)
        steak.take_off(Place.RACK)
        if boxed:
            steak.box()
        for _ in range(1200):
            steak.step(DT, AIR_C, AIR_C, lid_open=True)
        cores.append(steak.core_c())
    assert cores[1] > cores[0] + 2.0


def test_the_step_and_the_cells_are_fine_enough() -> None:
    # Halving both moves the pull by less than a cook's reaction, 1 s.
    coarse, fine = Steak(Cut(), cells=41), Steak(Cut(), cells=81)
    fine.put_on()
    t = 0.0
    while fine.core_c() < 53.9:
        fine.step(DT / 2.0, 290.0, AIR_C, lid_open=False)
        t += DT / 2.0
        if t == 240.0:
            fine.flip()
    assert cook(coarse, 290.0) == pytest.approx(t, abs=1.0)


def test_conduction_alone_is_slower() -> None:
    # The tuned transport factor is the only thing that a plain conductor lacks.
    assert cook(Steak(replace(Cut(), transport=1.0)), 290.0) > 1.4 * cook(Steak(Cut()), 290.0)
