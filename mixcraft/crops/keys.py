"""Names of a crop's values, for the type checker: a misspelt one is found before anything runs.

They are the fields of ``schemas/crop.schema.json`` that hold a record; a test compares the two.
"""

from __future__ import annotations

from typing import Literal

CropKey = Literal[
    "emergence.thermal_time", "emergence.t_base", "emergence.t_min", "emergence.t_optimum", "emergence.t_max",
    "emergence.daily_loss", "emergence.seedling_loss", "development.t_base", "development.t_optimum",
    "development.t_optimum_from", "development.t_ceiling",
    "development.days_to_harvest", "development.reference_temperature", "development.ready", "development.end",
    "development.flower", "development.bolting.critical_daylength", "development.bolting.slope",
    "development.bolting.chill_days", "development.bolting.chill_least", "development.bolting.chill_from",
    "development.bolting.chill_until", "development.bolting.chill_below", "development.bolting.juvenile",
    "development.bolting.winter_days", "development.bolting.winter_time", "development.bolting.winter_daylength",
    "development.bolting.thermal_time", "development.bulbing.critical_daylength", "development.bulbing.least",
    "development.photoperiod.critical", "development.photoperiod.slope", "development.photoperiod.reference",
    "development.podding.short_day", "development.podding.long_day", "development.podding.longest",
    "development.podding.shortest", "development.setting.none_below", "development.setting.all_from",
    "development.setting.all_until", "development.setting.none_above", "development.filling.all_until",
    "development.filling.none_above", "development.light_use.none_below", "development.light_use.all_from",
    "development.light_use.all_until", "development.light_use.none_above", "development.heat_above", "development.short_days",
    "development.tuber_days", "development.rests_below",
    "canopy.k", "canopy.rue", "canopy.lai_max", "canopy.sla", "canopy.rgr", "canopy.leaf_share",
    "canopy.leaf_most", "canopy.height", "canopy.spread", "canopy.light_need", "root.depth", "root.depletion", "root.kc_mid",
    "root.kc_end", "frost.seedling", "frost.grown", "frost.crown", "frost.bloom", "frost.chill_below", "frost.leaf_below_air",
    "seed.depth", "seed.per_gram", "seed.germination", "seed.field_factor", "seed.module_age", "seed.module_leaf",
    "seed.set_lead", "seed.propagule_mass", "spacing.in_row", "spacing.between_rows", "spacing.density",
    "spacing.cutting_density", "harvest.organ_start", "harvest.harvest_index", "harvest.sets_from", "harvest.grain_set.none",
    "harvest.grain_set.full", "harvest.grain_set.most", "harvest.yield_sole", "harvest.establishing", "nutrition.fixation",
]  # fmt: skip
"""A value of a crop."""

PartKey = Literal[
    "after", "young", "hold", "interval", "dry_matter", "take", "share", "stored", "cut_height", "cuts", "portion", "keeps",
    "market_least", "stands",
]  # fmt: skip
"""A value of an edible part."""
