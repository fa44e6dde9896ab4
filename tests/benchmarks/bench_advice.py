"""CPU time of the advice: a whole lake over a day, one ranking with three choices solved, one with all solved."""

from _measure import measure, report, yardstick

from briefing.core.advice.conditions import Conditions, Spot
from briefing.core.advice.ranking import rank, score_lake
from briefing.knowledge import load_advice_knowledge
from briefing.vocabulary import Cover, Forage, LakeKind, Phase, Sky, SpeciesForm

COVERS = tuple(Cover)


def blocks() -> list[Conditions]:
    """Five blocks of a day in early summer."""
    skies = (Sky.LOW_SUN, Sky.BROKEN, Sky.BRIGHT, Sky.OVERCAST, Sky.LOW_SUN)
    return [
        Conditions(
            phases={Phase.POSTSPAWN: 0.6, Phase.SUMMER: 0.4},
            water_temp_c=23.0,
            species={SpeciesForm.LARGEMOUTH_NORTHERN: 0.7, SpeciesForm.SPOTTED: 0.3},
            secchi_m=1.2,
            sky=sky,
            wind_mps=1.5 + number,
            forage=(Forage.SHAD, Forage.CRAWFISH),
            lake_kind=LakeKind.LOWLAND_RESERVOIR,
        )
        for number, sky in enumerate(skies)
    ]


def spots() -> list[Spot]:
    """Twenty spots of mixed cover and depth."""
    return [
        Spot(
            depth_m=(0.5 + 0.2 * number, 1.5 + 0.4 * number),
            cover={COVERS[number % 10]: 0.6, COVERS[(number + 3) % 10]: 0.4},
            cover_top_m=0.8 if number % 3 == 0 else None,
            exposed=bool(number % 2),
        )
        for number in range(20)
    ]


def main() -> None:
    """Print the table."""
    knowledge = load_advice_knowledge()
    day, lake = blocks(), spots()
    unit = yardstick()
    lake_ms = measure(lambda: score_lake(day, lake, knowledge))
    report("20 spots x 5 blocks x 38 presentations", lake_ms, unit, 30)
    report(
        "one spot, three choices solved", measure(lambda: rank(day[1], lake[4], knowledge, solve=3, units="us")), unit
    )
    report("one spot, all choices solved", measure(lambda: rank(day[1], lake[4], knowledge, units="us")), unit)


if __name__ == "__main__":
    main()
