import copy
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from briefing import knowledge
from briefing.core.alerts import typed_alert
from briefing.core.wind.events import EventTable, Match, plain_words
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
    meaning = TABLE.consequence(alert(event, description="As the office has issued it: patchy fog."), craft, skill)
    assert meaning.level is level
    assert meaning.match is Match.NAMED
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
        ("Unknown", "Unknown", Level.CAUTION),
    ],
)
def test_unknown_events_go_by_severity_and_urgency(alert, severity, urgency, level) -> None:
    meaning = TABLE.consequence(alert("Plague of Frogs", severity=severity, urgency=urgency), Craft.KAYAK, Skill.NOVICE)
    assert (meaning.level, meaning.match) == (level, Match.UNJUDGED)


def test_every_name_and_code_stands_once() -> None:
    data = copy.deepcopy(read_toml("alert_events.toml"))
    data["event"][1]["names"].append("tornado  WARNING")
    with pytest.raises(ValueError, match="stands twice"):
        EventTable.from_mapping(data)


def test_stronger_craft_are_not_judged_harder_except_in_fog() -> None:
    for rule in TABLE.rules:
        assert rule.bass_boat.rank <= rule.paddle.rank or rule.id == "fog"


KAYAK = (Craft.KAYAK, Skill.EXPERIENCED)
NAMES = sorted({name for rule in TABLE.rules for name in rule.names})
AT = datetime(2026, 6, 3, 10, tzinfo=UTC)


def judged(name: str, severity: str = "Moderate", **changes: object) -> object:
    one = replace(typed_alert("a", name, AT, None), severity=severity, headline="", **changes)
    return TABLE.consequence(one, *KAYAK)


@pytest.mark.parametrize(
    "name",
    [
        "Wind Advisory.",
        "Wind\u00a0Advisory",
        "Wind-Advisory",
        "WIND ADVISORY IN EFFECT",
        "Wind Advisory remains in effect until 6 PM CST",
        "<b>Wind Advisory</b>",
        "WindAdvisory",
        "W\u200bind Advisory",
        "wind advisory (2 of 3)",
        "Wnd Advisry",
        "Aviso de viento",
        "Avis de vent fort",
        "Thuderstrm Warnng",
        "Avertissement d\u2019orages violents",
        "Aviso de tormenta el\u00e9ctrica",
        "Sturmwarnung",
        "Gale Notice",
        "Lake Hazard Statement",
        "Dam Breach Imminent",
        "Squall Line Message",
        "Storms",
    ],
)
@pytest.mark.parametrize("severity", ["Moderate", "Minor", "", "null"])
def test_a_name_written_otherwise_keeps_its_stop(name, severity) -> None:
    assert judged(name, severity).level is Level.STOP


@pytest.mark.parametrize(
    ("name", "level"),
    [("Heat Notice", Level.CAUTION), ("Fog Statement", Level.CAUTION), ("River Flood Message", Level.CAUTION)],
)
def test_words_take_their_own_rows(name, level) -> None:
    meaning = judged(name)
    assert (meaning.level, meaning.match) == (level, Match.WORDS)


def test_a_word_takes_the_strictest_row_that_holds_it() -> None:
    for word in ("wind", "gale", "storm", "thunder", "tornado", "squall", "wave", "marine", "lake", "flood", "dam"):
        stricter = [rule for rule in TABLE.rules for name in rule.names if word in plain_words(name)]
        least = max((rule.paddle.rank for rule in stricter), default=Level.CAUTION.rank)
        assert judged(f"{word} xyzzy").level.rank >= least, word


def test_an_alert_without_name_or_severity_is_unknown_and_one_not_judged_a_caution() -> None:
    for name, severity in (("", "Moderate"), ("???", "Moderate"), ("Plague of Frogs", ""), ("Plague of Frogs", "7")):
        meaning = judged(name, severity)
        assert (meaning.level, meaning.match) == (Level.UNKNOWN, Match.UNREAD)
    meaning = judged("Plague of Frogs")
    assert (meaning.level, meaning.match) == (Level.CAUTION, Match.UNJUDGED)
    assert meaning.text == "not among the kinds judged here: read it"
    assert judged("Child Abduction Emergency").level is Level.WITHIN_LIMITS


@pytest.mark.parametrize(
    ("text", "level"),
    [
        ("Patchy fog until 9 AM August 4 by NWS Augusta", Level.CAUTION),
        ("Patchy fog near Anchorage, Hailey, Galena and Nightingale; storage of fog signals", Level.CAUTION),
        ("Gusts near the lake", Level.STOP),
        ("gusty winds this afternoon", Level.STOP),
        ("Hail the size of peas", Level.STOP),
        ("a gale is likely", Level.STOP),
        ("Orages violents", Level.STOP),
        ("Damaging straight line winds", Level.STOP),
        ("winds of 40 m.p.h. are possible", Level.STOP),
        ("winds of 35 knts", Level.STOP),
        ("Small craft should return to port", Level.STOP),
        ("Waves 6 to 9 feet on open water", Level.STOP),
        ("Waves of 1 to 2 feet on open water", Level.CAUTION),
    ],
)
def test_words_of_a_statement_are_whole_words(text: str, level: Level) -> None:
    told = replace(typed_alert("a", "Special Weather Statement", AT, None), description=f"{text} in the morning hours")
    assert TABLE.consequence(told, *KAYAK).level is level


@pytest.mark.parametrize(
    ("headline", "off"),
    [
        ("The Wind Advisory has been cancelled", True),
        ("Frost Advisory continues; the Wind Advisory has expired", True),
        ("Frost Advisory expired; Wind Advisory until 6 PM", False),
        ("Wind Advisory until 6 PM; the Frost Advisory is cancelled", False),
        ("Wind Advisory until 6 PM", False),
    ],
)
def test_a_warning_that_a_headline_calls_off_is_none(headline: str, off: bool) -> None:
    frost = replace(typed_alert("a", "Frost Advisory", AT, None), headline=headline)
    wanted = judged("Frost Advisory" if off else "Wind Advisory").level
    assert TABLE.consequence(frost, *KAYAK).level is wanted


def test_an_immediate_message_stays_a_stop_by_whatever_name() -> None:
    assert judged("Special Weather Statement and much more", urgency="Immediate").level is Level.STOP


def test_the_headline_names_what_the_event_does_not() -> None:
    headline = "Severe Thunderstorm Warning issued June 3 by NWS Lake Charles"
    told = replace(typed_alert("a", "Notice", AT, None), severity="Moderate", headline=headline)
    assert TABLE.consequence(told, *KAYAK).level is Level.STOP
    office = replace(told, headline="Notice issued June 3 by NWS Lake Charles")
    assert TABLE.consequence(office, *KAYAK).level is Level.CAUTION


def test_of_a_name_and_a_code_that_differ_the_stricter_counts(alert) -> None:
    assert TABLE.consequence(alert("Heat Advisory", event_codes=("TOR",)), *KAYAK).level is Level.STOP


@given(event=st.sampled_from(NAMES), other=st.sampled_from(NAMES))
def test_a_headline_that_names_another_event_of_the_table_is_judged_too(event: str, other: str) -> None:
    told = replace(typed_alert("a", event, AT, None), headline=f"{other} issued July 11 by NWS Lake Charles")
    plain = replace(told, headline=f"{event} issued July 11 by NWS Lake Charles")
    strictest = max(judged(event).level.rank, judged(other).level.rank)
    assert TABLE.consequence(told, *KAYAK).level.rank >= strictest
    assert TABLE.consequence(plain, *KAYAK).level is TABLE.consequence(replace(told, headline=""), *KAYAK).level


@given(
    name=st.sampled_from(NAMES),
    before=st.sampled_from(["", " ", "\u00a0", "<p>", "The ", "* "]),
    between=st.sampled_from([" ", "  ", "\u00a0", "-", "_", " / ", "\t", "\u2013"]),
    after=st.sampled_from(
        ["", ".", "!", " in effect", " - in effect until 7 PM", "</p>", " (updated)", "\u200b", " #2"]
    ),
    case=st.sampled_from([str, str.upper, str.lower, str.title]),
    severity=st.sampled_from(["Moderate", "Minor", "Unknown", ""]),
)
def test_no_spelling_of_a_name_is_judged_below_the_name(name, before, between, after, case, severity) -> None:
    told = case(before + name.replace(" ", between) + after)
    assert judged(told, severity).level.rank >= judged(name).level.rank


@given(st.text(max_size=40), st.sampled_from(["Extreme", "Severe", "Moderate", "Minor", "Unknown", "", "x"]))
def test_any_text_at_all_is_at_least_a_caution_unless_the_table_names_it(name, severity) -> None:
    meaning = judged(name, severity)
    assert meaning.match is Match.NAMED or meaning.level.rank >= Level.CAUTION.rank


@pytest.mark.parametrize("said", ["", "...", "5", "See text"])
def test_a_statement_without_its_text_is_unknown(alert, said) -> None:
    meaning = TABLE.consequence(alert("Special Weather Statement", description=said), *KAYAK)
    assert (meaning.level, meaning.match) == (Level.UNKNOWN, Match.UNREAD)


@pytest.mark.parametrize(
    "said", ["Winds to 40 knots.", "winds in excess of 34 kts", "A strong downdraft is near.", "T-STORMS move in soon.",
     "At 7 AM radar showed W winds 25G40KT over the lake.", "Seas 5 ft on the open lake this morning.",
     "Waves building to 2 m on the open lake.", "Sustained winds of thirty five knots are expected.",
     "Boaters should return to shore immediately.", "Winds of 50 to 60 expected over the open lake.",
     "A strong outflow boundary is crossing the lake.", "3 to 5 foot waves by noon.", "Head back to land at once.",
     "An isolated storm over the lake will move northeast.", "Move to shelter immediately, all of you.",
     "Winds around 17 meters per second on the lake.", "Winds around seventeen metres per second are near.",
     "Six foot waves on the open lake.", "Waves up to two meters at the dam.", "A derecho is crossing the lake.",
     "A haboob is near the lake.", "A shelf cloud was seen by spotters.", "Up to 62 kilometers per hour at noon.",
     "Up to 50 kn at the dam.", "Boaters should get off the water.", "Small boats could capsize today.",
     "Se esperan vientos fuertes en el lago.", "Sixty-mile gusts; forty knots on the ridge.",
     "Take shelter ashore at once."]
)  # fmt: skip
def test_a_statement_that_names_storm_or_wind_in_other_words_is_a_stop(alert, said) -> None:
    assert TABLE.consequence(alert("Marine Weather Statement", description=said), *KAYAK).level is Level.STOP
    further = alert("Special Weather Statement", description="Read the text below.", further=said)
    assert TABLE.consequence(further, *KAYAK).level is Level.STOP
    mild = alert("Special Weather Statement", description="Dense fog with light winds of 5 mph.")
    assert TABLE.consequence(mild, *KAYAK).level is Level.CAUTION


@pytest.mark.parametrize(
    "said",
    ["Dense fog with light winds of 5 mph. Visibility of 30 feet near the port.", "Light winds until 10:30 AM today.",
     "Winds light, humidity down to 35 percent, dry fuels.", "Seas and waves are light, water 68 degrees today.",
     "Patchy frost in low spots; lows of 33 with calm winds.", "Wind chills are no concern, highs near 75 today.",
     "A winter storm ended; roads stay icy into the night.", "Storm total rainfall of two inches has ended.",
     "The Storm Prediction Center notes dry fuels and low humidity."]
)  # fmt: skip
def test_a_mild_statement_is_no_stop(alert, said) -> None:
    assert TABLE.consequence(alert("Special Weather Statement", description=said), *KAYAK).level is Level.CAUTION


@pytest.mark.parametrize(
    "said", ["Es wird ungemuetlich auf dem See heute.", "Conditions will change over the lake tonight.",
             "A line is moving toward the lake at this time.", "See the product of the office for all details."]
)  # fmt: skip
def test_a_statement_about_what_is_not_known_here_is_unknown(alert, said) -> None:
    meaning = TABLE.consequence(alert("Special Weather Statement", description=said), *KAYAK)
    assert (meaning.level, meaning.match) == (Level.UNKNOWN, Match.UNREAD)


@pytest.mark.parametrize(
    "name",
    [
        "Frost Advisory issued with Lake Wind Advisory",
        "Freeze Warning until 9 AM then Wind Advisory",
        "Flood Advisory continues. Tornado Warning",
        "Red Flag Warning through 8 PM for gusty winds",
        "<Tornado Warning> Test",
    ],
)
def test_what_follows_a_name_is_read_too(name) -> None:
    assert judged(name).level is Level.STOP


def test_a_code_of_no_matter_does_not_quiet_a_name_that_is_not_read(alert) -> None:
    told = alert("Wnd Advsry", event_codes=("ADR",), headline="Wind Advisory")
    assert TABLE.consequence(told, *KAYAK).level is Level.STOP


@pytest.mark.parametrize(
    "name", ["SVR", "TOR WRN", "Rough Bar Advisory", "W I N D  A D V I S O R Y", "W\u0456nd Adv\u0456s\u043ery", "TOR"]
)
def test_a_name_that_is_a_code_spaced_out_or_in_look_alike_letters_is_read(name) -> None:
    assert judged(name).level is Level.STOP


@pytest.mark.parametrize("name", ["null", "None", "NaN", "N/A", "undefined", ""])
def test_what_stands_where_there_is_no_name_is_none(name) -> None:
    assert (judged(name).level, judged(name).match) == (Level.UNKNOWN, Match.UNREAD)


def test_the_text_of_a_test_that_names_a_warning_counts(alert) -> None:
    told = alert("Test", headline="", description="TORNADO WARNING FOR THE LAKE until noon")
    assert TABLE.consequence(told, *KAYAK).level is Level.STOP
    plain = alert("Test", headline="", description="This is a test of the Tornado Warning system.")
    assert TABLE.consequence(plain, *KAYAK).level is Level.WITHIN_LIMITS


@pytest.mark.parametrize(
    "name", ["HIGHWINDWATCH", "highwindwatch", "smallcraftadvisory", "dambreakwarning", "High%20Wind%20Watch"]
)
def test_names_without_blanks_are_read(name: str) -> None:
    table = EventTable.from_mapping(read_toml("alert_events.toml"))
    now = datetime(2026, 6, 3, tzinfo=UTC)
    rules, match = table.read(typed_alert("x", name, now, now))
    assert rules
    assert match is not Match.UNJUDGED
