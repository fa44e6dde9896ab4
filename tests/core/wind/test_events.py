import copy

import pytest

from briefing import knowledge
from briefing.core.wind.events import EventTable
from briefing.resources import read_toml
from briefing.vocabulary import Craft, Level, Skill

TABLE = knowledge.load_alert_events()


@pytest.mark.parametrize(
    ("event", "craft", "skill", "level"),
    [
        ("Tornado Warning", Craft.BASS_BOAT, Skill.EXPERIENCED, Level.STOP),
        ("severe thunderstorm watch", Craft.KAYAK, Skill.EXPERIENCED, Level.STOP),
        ("Lake Wind Advisory", Craft.JON_BOAT, Skill.EXPERIENCED, Level.STOP),
        ("Lake Wind Advisory", Craft.BASS_BOAT, Skill.EXPERIENCED, Level.CAUTION),
        ("Dense Fog Advisory", Craft.KAYAK, Skill.EXPERIENCED, Level.CAUTION),
        ("Dense Fog Advisory", Craft.KAYAK, Skill.NOVICE, Level.STOP),
        ("Dense Fog Advisory", Craft.BASS_BOAT, Skill.EXPERIENCED, Level.STOP),
        ("Excessive Heat Warning", Craft.KAYAK, Skill.EXPERIENCED, Level.CAUTION),
        ("Extreme Heat Warning", Craft.KAYAK, Skill.EXPERIENCED, Level.CAUTION),
        ("Wind Chill Warning", Craft.KAYAK, Skill.EXPERIENCED, Level.STOP),
        ("Extreme Cold Warning", Craft.KAYAK, Skill.EXPERIENCED, Level.STOP),
        ("Freeze Warning", Craft.KAYAK, Skill.EXPERIENCED, Level.WITHIN_LIMITS),
        ("Special Weather Statement", Craft.KAYAK, Skill.EXPERIENCED, Level.CAUTION),
    ],
)
def test_consequences(alert, event, craft, skill, level) -> None:
    meaning = TABLE.consequence(alert(event), craft, skill)
    assert meaning.level is level
    assert meaning.known
    assert meaning.text


def test_the_text_fits_the_craft(alert) -> None:
    texts = {craft: TABLE.consequence(alert(), craft, Skill.EXPERIENCED).text for craft in Craft}
    assert "off the water" in texts[Craft.KAYAK] == texts[Craft.JON_BOAT]
    assert "your own limits" in texts[Craft.BASS_BOAT]


def test_moving_water_and_big_lakes(alert) -> None:
    flood, beach = alert("Flash Flood Warning"), alert("Beach Hazards Statement")
    kayak = (Craft.KAYAK, Skill.EXPERIENCED)
    assert TABLE.consequence(flood, *kayak).level is Level.CAUTION
    assert TABLE.consequence(flood, *kayak, moving_water=True).level is Level.STOP
    assert TABLE.consequence(beach, *kayak).level is Level.WITHIN_LIMITS
    assert TABLE.consequence(beach, *kayak, big_lake=True).level is Level.CAUTION


def test_a_statement_that_names_a_gust_or_lightning_is_a_stop(alert) -> None:
    for words, thunder in (("Wind gusts of 45 mph possible", False), ("Frequent LIGHTNING with this storm", True)):
        meaning = TABLE.consequence(
            alert("Special Weather Statement", description=words), Craft.KAYAK, Skill.EXPERIENCED
        )
        assert (meaning.level, meaning.thunder) == (Level.STOP, thunder)


def test_a_renamed_event_is_known_by_its_code(alert) -> None:
    renamed = alert("Breezy Lake Notice", event_codes=("LWY",))
    assert TABLE.consequence(renamed, Craft.KAYAK, Skill.EXPERIENCED).level is Level.STOP


@pytest.mark.parametrize(
    ("severity", "urgency", "level"),
    [
        ("Extreme", "Immediate", Level.STOP),
        ("Minor", "Immediate", Level.STOP),
        ("Severe", "Expected", Level.CAUTION),
        ("Unknown", "Unknown", Level.WITHIN_LIMITS),
    ],
)
def test_unknown_events_go_by_severity_and_urgency(alert, severity, urgency, level) -> None:
    meaning = TABLE.consequence(alert("Plague of Frogs", severity=severity, urgency=urgency), Craft.KAYAK, Skill.NOVICE)
    assert (meaning.level, meaning.known) == (level, False)


def test_every_name_and_code_stands_once() -> None:
    data = copy.deepcopy(read_toml("alert_events.toml"))
    data["event"][1]["names"].append("tornado  WARNING")
    with pytest.raises(ValueError, match="stands twice"):
        EventTable.from_mapping(data)


def test_stronger_craft_are_not_judged_harder_except_in_fog() -> None:
    for rule in TABLE.rules:
        assert rule.bass_boat.rank <= rule.paddle.rank or rule.id == "fog"
