"""How thick a planting may stand: the densest stand that is usual for the way in which it is picked."""

from __future__ import annotations

from .plan import Planned


def densest(planned: Planned) -> float:
    """Greatest usual number of plants per square metre: the top of the published range of the crop's density, that for cutting
    where it is cut young and the crop has one."""
    crop = planned.planting.crop
    cut = any(harvest.method == "cut" for harvest in planned.harvests)
    key = "spacing.cutting_density" if cut and "spacing.cutting_density" in crop.records else "spacing.density"
    record = crop.records[key]  # type: ignore[index]
    return max(record.value, record.high or record.value)
