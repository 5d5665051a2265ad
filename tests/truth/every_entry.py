"""A job with every entry of the job file, those that it may leave out too; the planned part changes a little of each table."""

from datetime import date
from typing import Any

Document = dict[str, Any]

SAMPLE: Document = {
    "format": "hearthcalc-job", "version": 1, "units": "in",
    "about": {"title": "Gatehouse", "edition": "irc-2021", "measured": True, "notes": "soot on the lintel"},
    "fireplace": {"construction": "masonry", "pattern": "conventional", "contact_listed": False},
    "face": [
        {
            "name": "study", "side": "front", "width": "36", "height": "30", "arch": "flat", "opens_to": "room",
            "closure": "glass doors", "gap_area": "6 in2", "burning_closed": "unknown", "opening_above_hearth": "0",
            "hearth": {
                "front": "20", "facing": "0", "left": "12", "right": "12", "thickness": "2 3/4", "above_floor": "0", "below": "wood",
                "specified_r": "1.0 h.ft2.F/Btu", "layers": [{"material": "brick_fired_clay_1920", "thickness": "2 1/4"}],
            },
            "lintel": {
                "above": "wall", "behind": "nothing", "span": "36", "wall_thickness": "4", "wall_height": "60", "wall_weight": "40 lb/ft2",
                "sound_beside": True, "other_load": "0 lb/ft", "angle": "L3-1/2x3-1/2x1/4", "bearing": "4",
            },
        },
        {"name": "hall", "side": "left", "width": "24", "height": "24", "arch": "segmental", "rise": "4", "closure": "none"},
    ],
    "firebox": {
        "depth": "20", "wall": "8", "back_wall": "8", "lining": "2 1/2", "joint": "1/8", "floor_slab": "4", "floor_below": "concrete",
        "throat_height": "38", "throat_depth": "4", "throat_width": "36", "damper": "throat", "damper_area": "140 in2",
        "front_wall": "8", "clamp_area": "51 in2",
        "damper_works": "unknown", "smoke_chamber_height": "30", "smoke_chamber_wall": "8", "smoke_chamber_form": "sloped",
        "smoke_chamber_slope": "45 deg", "smoke_chamber_parged": "unknown",
    },
    "flue": {
        "liner": "13x13", "shape": "square", "inside": "11 1/4 x 11 1/4", "outside": "13 x 13", "shaft": "14 x 14",
        "area": "127 in2", "figure_area": "110 in2",
        "height": "20 ft", "lining": "clay", "condition": "unknown", "place": "inside", "offsets": ["30 deg", "30 deg"], "cap": "open",
        "cap_area": "520 in2", "arrestor_area": "520 in2", "shared_with": "",
    },
    "nearby": [
        {"name": "oak mantel", "what": "mantel", "combustible": True, "face": "study", "above": "9", "beside": "3", "projection": "1 1/2"},
        {"name": "stud", "what": "framing", "at": "firebox back", "gap": "4", "filled": False, "masonry_wall": False},
        {"name": "siding", "what": "siding", "at": "chimney", "gap": "1", "from_lining": "7"},
        {"name": "chair", "what": "furniture", "face": "hall", "ahead": "40", "protection": "none"},
    ],
    "use": {"open_together": False},
    "air": {
        "house_volume": "16000 ft3", "room_volume": "2400 ft3", "airtightness": "7 ACH50", "exterior_duct": "20 in2", "vent": "0 in2",
        "beyond_gaps": "0 in2", "makeup": "0 cfm", "fans": [{"name": "range hood", "flow": "450 cfm", "where": "house"}],
        "duct_from": "outdoors", "duct_above": "no", "duct_screened": "yes", "duct_outlet": "0", "duct_clear": "2",
        "gas_input": "50000 Btu/h", "gas_logs": "unlisted", "storeys": 2, "neutral_level": "8 ft",
    },
    "site": {"altitude": "600 ft", "outdoor": "32 F", "indoor": "68 F", "wind": "8 mph", "wind_on": "hall", "shelter": 0.7},
    "fire": {"size": "steady"},
    "roof": [
        {
            "name": "lean-to", "passes_through": True, "above_penetration": "38", "distance": "0 ft", "above_highest": "30",
            "pitch": "6:12",
            "width_along_ridge": "44", "crosses_ridge": False, "cricket_height": "0", "framing_gap": "2", "size_change_gap": "12",
        },
    ],
    "chimney": {
        "wall": "4", "flues": 2, "wythe": "4", "crown": "yes", "cleanout": "door", "cleanout_height": "8", "arrestor_mesh": "1/2",
        "offset_carried": "yes", "corbel": "2", "corbel_alike": True, "corbel_course": "1", "unit_height": "2 1/4", "bed_depth": "3 3/4",
        "liner_runs": "yes", "liner_mortar": "yes", "liner_space": "yes", "label": "yes", "fireblocking": "yes",
        "contact_listed": False,
    },
    "structure": {
        "footing_thickness": "12", "footing_beyond": "6", "footing_depth": "36", "frost_depth": "32", "seismic": "D1", "width": "40",
        "bars": 4, "ties": "18", "anchored": "yes",
        "ash_dump": "none", "unit_steel": "1/4", "unit_masonry": "4", "slab_steel": "yes", "chamber_lining": "none", "tight": "yes",
    },
    "photo": [{"name": "lintel", "file": "photos/lintel.jpg", "caption": "soot over the left jamb", "shows": "study"}],
    "signed": [
        {
            "name": "A. Mason", "role": "measured", "trade": "mason", "license": "M-1", "date": date(2026, 5, 4),
            "fingerprint": "0", "values": "0",
        },
    ],
    "planned": {
        "face": [{"name": "workshop", "side": "back", "width": "36", "height": "30", "closure": "steel doors", "hearth": {"front": "20"}}],
        "firebox": {"depth": "24", "throat_height": "39"},
        "flue": {"liner": "13x18"},
        "nearby": [{"name": "stud", "remove": True}, {"name": "beam", "what": "framing", "at": "firebox side", "gap": "2"}],
    },
}  # fmt: skip
