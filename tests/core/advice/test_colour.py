"""Colour families against worked situations: the first three of the order, in order."""

from dataclasses import replace

import pytest

from briefing.core.advice.colour import (
    ColourQuestion,
    band_light,
    contrast,
    family_order,
    pick_colours,
    second_when,
)
from briefing.knowledge import load_advice_knowledge
from briefing.vocabulary import Cover, Forage, Phase, Sky, WaterColour

SECCHI = {"very_clear": 5.0, "clear": 3.0, "moderate": 1.5, "stained": 0.75, "dirty": 0.4, "muddy": 0.15}

WORKED = [
    ("clear", "clear", "bright", "hard_moving", "shad", None, None, "translucent_minnow chrome_silver white_shad"),
    ("dirty", "muddy", "overcast", "jig_bottom", "crawfish", None, None, "black_blue brown_orange_craw brown_purple"),
    (
        *("moderate", "tannic", "broken", "soft_bottom", "nondescript", None, None),
        "dark_purple_green_fleck green_pumpkin brown_orange_craw",
    ),
    ("moderate", "tannic", "broken", "hard_moving", "shiner", None, None, "golden_shiner gold_flash bluegill"),
    (
        *("stained", "green", "overcast", "skirted_moving", "shad", "autumn", None),
        "white_shad chartreuse_white shad_chartreuse_flank",
    ),
    (
        *("moderate", "green", "broken", "skirted_moving", "bluegill", "postspawn", None),
        "bluegill green_pumpkin golden_shiner",
    ),
    (
        *("stained", "green", "overcast", "hard_moving", "crawfish", "early_prespawn", None),
        "red_craw brown_orange_craw chartreuse_dark_back",
    ),
    ("clear", "clear", "night", "topwater_hard", None, None, None, "black"),
    ("very_clear", "clear", "bright", "soft_bottom", "goby", None, None, "goby_mottle smoke_fleck watermelon"),
    ("moderate", "green", "low_sun", "jig_bottom", None, None, "grass_topped", "black_blue green_pumpkin bluegill"),
    ("stained", "green", "low_sun", "frog", None, None, None, "black bone bluegill"),
    ("moderate", "green", "bright", "frog", "bluegill", None, None, "bluegill bone white_shad"),
    ("clear", "clear", "broken", "jig_bottom", "crawfish", None, None, "brown_orange_craw green_pumpkin watermelon"),
    ("very_clear", "clear", "bright", "metal", "shad", None, None, "chrome_silver white_shad perch"),
    ("clear", "clear", "bright", "soft_swim", "perch", None, None, "perch watermelon translucent_minnow"),
    ("dirty", "muddy", "overcast", "skirted_moving", "shad", None, None, "chartreuse_white black_blue white_shad"),
    ("moderate", "clear", "overcast", "hard_moving", "perch", None, None, "perch bluegill shad_chartreuse_flank"),
]


ROLES = ["soft_bottom", "jig_bottom", "skirted_moving", "hard_moving", "topwater_hard", "frog"]


@pytest.fixture(scope="module")
def colours():
    return load_advice_knowledge().colours


def question(clarity, water, sky, role, forage=None, phase=None, cover=None, lure_depth_m=None, owned=()):
    return ColourQuestion(
        role=role,
        secchi_m=SECCHI[clarity],
        water=WaterColour(water),
        sky=Sky(sky),
        forage=(Forage(forage),) if forage else (),
        phases={Phase(phase): 1.0} if phase else {},
        cover=Cover(cover) if cover else None,
        lure_depth_m=lure_depth_m,
        owned=owned,
    )


@pytest.mark.parametrize("row", WORKED, ids=lambda row: "-".join(str(word) for word in row[:5]))
def test_first_three_families(colours, row):
    *situation, expected = row
    assert [family.id for family in family_order(question(*situation), colours)[:3]] == expected.split()


@pytest.mark.parametrize("water", list(WaterColour))
@pytest.mark.parametrize("clarity", SECCHI)
@pytest.mark.parametrize("sky", list(Sky))
def test_the_second_pick_answers_a_named_change(colours, water, clarity, sky):
    """Another colour with its when, or none where one alone is right; at night both dark, in mud nothing mid-toned."""
    for role in ("soft_bottom", "jig_bottom", "skirted_moving", "hard_moving", "topwater_hard", "frog"):
        picks = pick_colours(question(clarity, water, sky, role), colours).picks
        family = {one.id: one for one in colours.families}
        assert 1 <= len(picks) <= 2, role
        assert len({pick.id for pick in picks}) == len(picks), role
        assert all(pick.why.strip().endswith(".") for pick in picks), role
        assert bool(second_when(picks, Sky(sky), colours)) == (len(picks) == 2), role
        if sky == "night":
            assert {family[pick.id].tone for pick in picks} == {"dark"}, role
        elif clarity == "muddy":
            assert all(family[pick.id].tone != "mid" and family[pick.id].opacity == "opaque" for pick in picks), role


def test_over_shad_both_colours_are_pale(colours):
    picks = pick_colours(question("moderate", "green", "overcast", "skirted_moving", "shad"), colours).picks
    tones = {family.id: family.tone for family in colours.families}
    assert [tones[pick.id] for pick in picks] == ["light", "light"]


def test_no_black_in_sun_and_clear_water(colours):
    dark = {family.id for family in colours.families if family.tone == "dark"}
    for role in ROLES:
        picks = pick_colours(question("very_clear", "clear", "bright", role), colours).picks
        assert not dark & {pick.id for pick in picks}


def test_nothing_translucent_or_mirrored_at_night(colours):
    opacity = {family.id: family.opacity for family in colours.families}
    for clarity in SECCHI:
        for role in ("soft_bottom", "hard_moving", "topwater_hard", "soft_swim"):
            first = pick_colours(question(clarity, "clear", "night", role), colours).picks[0]
            assert opacity[first.id] in ("opaque", "semi")


def test_red_fades_with_depth_in_clear_water(colours):
    """Red light is taken out first: a red craw loses places when it runs deep in clear water."""
    shallow = family_order(
        question("clear", "clear", "bright", "hard_moving", "crawfish", "winter", lure_depth_m=0.5), colours
    )
    deep = family_order(
        question("clear", "clear", "bright", "hard_moving", "crawfish", "winter", lure_depth_m=6.0), colours
    )
    place = [[family.id for family in order].index("red_craw") for order in (shallow, deep)]
    assert place[1] >= place[0]


def test_flash_follows_light_and_water(colours):
    assert "gold" in pick_colours(question("stained", "tannic", "bright", "skirted_moving"), colours).flash
    assert "silver" in pick_colours(question("clear", "clear", "bright", "skirted_moving"), colours).flash
    night = pick_colours(question("clear", "clear", "night", "skirted_moving"), colours).flash
    assert "black" in night or "dark" in night


def test_an_owned_box_is_respected_and_the_gap_named_once(colours):
    answer = pick_colours(
        question("dirty", "muddy", "overcast", "jig_bottom", owned=("green_pumpkin", "brown_purple")), colours
    )
    assert {pick.id for pick in answer.picks} <= {"green_pumpkin", "brown_purple"}
    assert "black" in answer.gap


@pytest.mark.parametrize("water", list(WaterColour))
def test_light_falls_with_depth_and_red_falls_faster_in_clear_water(colours, water):
    shallow, deep = (band_light(depth, 1.5, water, colours) for depth in (0.5, 3.0))
    assert 0.0 < deep.green < shallow.green < 1.0
    assert 0.0 < deep.red < shallow.red < 1.0
    clear = band_light(3.0, 3.0, WaterColour.CLEAR, colours)
    tannic = band_light(3.0, 3.0, WaterColour.TANNIC, colours)
    assert clear.red / clear.green < 0.6 < tannic.red / tannic.green


def test_light_left_at_one_secchi_depth_is_about_a_fifth(colours):
    """exp(-1.7) = 0.18, by definition of the factor."""
    assert band_light(2.0, 2.0, WaterColour.GREEN, colours).green == pytest.approx(0.183, abs=0.001)


def test_deep_down_only_dark_or_light_is_left(colours):
    """Below the visibility the mid tones lose to the dark and the pale ones."""
    light = band_light(4.0, 2.0, WaterColour.GREEN, colours)
    by_tone = {"dark": [], "mid": [], "light": []}
    for family in colours.families:
        if family.opacity == "opaque":
            by_tone[family.tone].append(contrast(family, light, WaterColour.GREEN))
    middle = {tone: sum(values) / len(values) for tone, values in by_tone.items()}
    assert middle["mid"] < min(middle["dark"], middle["light"])


def test_white_and_yellow_green_count_as_one_brightness_blue_and_black_as_one_darkness(colours):
    light = band_light(1.0, 2.0, WaterColour.GREEN, colours)
    seen = {family.id: contrast(family, light, WaterColour.GREEN) for family in colours.families}
    assert seen["white_shad"] == pytest.approx(seen["chartreuse_white"], abs=0.3)
    assert seen["black"] == pytest.approx(seen["black_blue"], abs=0.1)


def test_shade_counts_as_low_light(colours):
    sun = question("moderate", "green", "bright", "jig_bottom", "crawfish")
    shaded = replace(sun, shade=True, cover=Cover.DOCK)
    place = [[family.id for family in family_order(what, colours)].index("black_blue") for what in (sun, shaded)]
    assert place[1] <= place[0]
