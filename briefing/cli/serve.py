"""``briefing serve`` and ``briefing tick``: the service, and one round of it for a timer."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

import typer

from briefing.app.assembly import App
from briefing.cli.common import app_context, echo, fail, tell_unkept
from briefing.errors import NewerSchemaError, StoreError, StoreInUseError

if TYPE_CHECKING:
    from briefing.service.world import World


@contextmanager
def open_world(app: App, *, offline: bool = False) -> Iterator[World]:
    """The service's world for a command; its claims end with the block."""
    from briefing.app.events import Log
    from briefing.app.owner import Owner
    from briefing.service.serve import OWNERS
    from briefing.service.world import World

    with Owner(app.home.data_dir / OWNERS) as owner:
        yield World(
            home=app.home, environment=app.environment, clock=app.clock, owner=owner, log=Log(), offline=offline
        )


def serve(
    ctx: typer.Context,
    print_unit: Annotated[
        bool, typer.Option("--print-unit", help="Print a systemd unit for your user, and end.")
    ] = False,
    rounds: Annotated[int | None, typer.Option(min=1, help="End after so many rounds.")] = None,
    offline: Annotated[bool, typer.Option("--offline", help="Ask no data service: stored data only.")] = False,
) -> None:
    """Run the service: briefings on time, wind notes for planned outings, until it is stopped.

    \b
    briefing serve
    briefing serve --print-unit > ~/.config/systemd/user/lake-briefing.service
    """
    import threading

    from briefing.service import serve as service

    context = app_context(ctx)
    if print_unit:
        echo(service.systemd_unit(service.program_path(), context.environment), nl=False)
        return
    stop = threading.Event()
    service.stop_on_signals(stop)
    with open_world(context, offline=offline) as world:
        service.serve(world, stop, rounds)


def tick(
    ctx: typer.Context,
    offline: Annotated[bool, typer.Option("--offline", help="Ask no data service: stored data only.")] = False,
    trust_clock: Annotated[
        bool, typer.Option("--trust-clock", help="The clock is right although later times are stored.")
    ] = False,
) -> None:
    """Do one round of the service and end: make what is due, hand over what waits. For cron or another timer.

    \b
    */5 * * * * briefing tick
    """
    from briefing.app.clock import trust_clock as trust
    from briefing.service.tick import run_round

    context = app_context(ctx)
    try:
        with open_world(context, offline=offline) as world:
            if trust_clock:
                trust(world)
            report = run_round(world)
    except (StoreInUseError, NewerSchemaError):
        raise
    except StoreError as error:
        _tell_what_is_due(replace(context, offline=offline), error)
        raise
    if report.problem:
        fail(report.problem, 1)
    echo(
        f"Made {report.made}, sent {report.sent}, nothing to say {report.quiet}, waiting {report.waiting}, "
        f"missed {report.missed}, failed {report.failed}, refused {report.refused}, uncertain {report.uncertain}."
    )


def _tell_what_is_due(app: App, error: StoreError) -> None:
    """Print the briefings that are due although nothing can be kept, and say so; nothing where none is."""
    from briefing.app.owner import Owner
    from briefing.service.serve import OWNERS
    from briefing.service.unkept import unkept_briefings

    told = 0
    for one in unkept_briefings(app, Owner(app.home.data_dir / OWNERS)):
        echo(one.text)
        told += 1
    if told:
        tell_unkept([f"NOT KEPT AND NOT SENT: what is printed above, and it is printed again in each round. {error}"])
