"""``Briefing``: the one model that every rendering is made from. The order of fields is the order of the page."""

from __future__ import annotations

from briefing.sections.cautions import CautionsSection
from briefing.sections.changes import ChangesSection
from briefing.sections.day import DaySection
from briefing.sections.glance import GlanceSection
from briefing.sections.head import HeadSection
from briefing.sections.hours import HoursSection
from briefing.sections.lake_map import MapSection
from briefing.sections.plan import PlanSection
from briefing.sections.quantity import SectionModel
from briefing.sections.season import SeasonSection
from briefing.sections.sources import SourcesSection
from briefing.sections.sureness import SurenessSection
from briefing.sections.unknown import UnknownSection
from briefing.sections.water_light import WaterLightSection

SCHEMA_VERSION = 1


class Briefing(SectionModel):
    """A whole morning briefing for one lake, one local date, as of one instant."""

    schema_version: int = SCHEMA_VERSION
    head: HeadSection
    glance: GlanceSection
    day: DaySection
    cautions: CautionsSection
    changes: ChangesSection
    hours: HoursSection
    season: tuple[SeasonSection, ...]
    plan: PlanSection
    water: WaterLightSection
    sureness: SurenessSection
    unknown: UnknownSection
    sources: SourcesSection
    map: MapSection | None
