"""Instants that several parts of a morning ask for."""

from __future__ import annotations

from datetime import datetime

from briefing.pipeline.inputs import MorningInputs


def issued_at(inputs: MorningInputs) -> datetime | None:
    """Newest issue time of the wind forecast for the outing's hours; None when none is stated."""
    field = inputs.gathered.hours.window(inputs.outing.launch, inputs.outing.back)["wind_mps"]
    issued = [field.origins[n].issued for n in set(field.origin_index.tolist()) - {-1}]
    return max((one for one in issued if one is not None), default=None)
