"""The crop library, its model, and the clocks of a crop."""

from mixcraft.files.constants import QUALITIES

from .library import UnknownCrop, all_crops, crop_ids, find_crop, find_crop_id, load_crop
from .model import Crop, Disease, EmergenceTable, Part, Record, crop_from_mapping

__all__ = [
    "QUALITIES", "Crop", "Disease", "EmergenceTable", "Part", "Record", "UnknownCrop", "all_crops",
    "crop_from_mapping", "crop_ids", "find_crop", "find_crop_id", "load_crop",
]  # fmt: skip
