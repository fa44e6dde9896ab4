"""Page and mail as a checker of accessibility sees them, in both colour schemes."""

import pytest

from briefing.report.mail import mail_parts
from briefing.report.render import to_html
from tests.browser.chromium import axe_core, measure
from tests.scenarios import built

pytestmark = pytest.mark.long

#: One of each level line: care, ashore under a condition, not known, ashore.
NAMES = (
    "demo",
    "highland_winter_cold_water",
    "highland_autumn_no_thunder_data",
    "south_autumn_fixed_launch_over_limits",
)
RULES = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
CHECK = """
const found = await axe.run(document, {runOnly: {type: 'tag', values: TAGS}, resultTypes: ['violations']});
result.violations = found.violations.map(one => one.id + ': ' + one.nodes.slice(0, 2).map(n => n.html).join(' | '));
result.rules = found.passes.length + found.violations.length;
result.dark = matchMedia('(prefers-color-scheme: dark)').matches;
"""


def checked(html: str, *, dark: bool) -> dict[str, object]:
    script = f"{axe_core()};\n{CHECK.replace('TAGS', str(list(RULES)))}".replace("</script", "<\\/script")
    return measure(html, 390, script, dark=dark)


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("form", ["page", "mail"])
def test_a_checker_finds_nothing(form: str, dark: bool, whole: bool) -> None:
    for name in NAMES if whole else NAMES[:1]:
        briefing = built(name).briefing
        found = checked(to_html(briefing) if form == "page" else mail_parts(briefing, "abc").html, dark=dark)
        assert found["dark"] is dark
        assert found["violations"] == [], name
        assert int(str(found["rules"])) > 15, "hardly any rule was looked at"


def test_the_checker_finds_what_is_wrong() -> None:
    page = to_html(built("demo").briefing).replace('lang="en"', "").replace("--fg:#1b2226", "--fg:#c0c0c0")
    found = str(checked(page, dark=False)["violations"])
    assert "html-has-lang" in found
    assert "color-contrast" in found
