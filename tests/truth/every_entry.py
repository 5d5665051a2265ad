"""A job with every entry of the job file, and the same with more of what a plan may change."""

import datetime as dt
from typing import Any

Document = dict[str, Any]

EVERY: Document = {
    "format": "hearthcalc-job",
    "version": 1,
    "units": "in",
    "about": {
        "title": "Tall house, south chimney", "place": "Nowhere", "measured_by": "M.", "date": dt.date(2026, 5, 4),
        "edition": "irc-2021", "amendments": "Low Weir", "measured": True, "notes": "two\nlines",
    },
    "fireplace": {"construction": "masonry", "pattern": "conventional", "contact_listed": False},
    "face": [
        {
            "name": "study", "side": "front", "width": "36", "height": "30", "arch": "segmental", "rise": "4", "opens_to": "room",
            "closure": "glass doors", "gap_area": "6 in2", "burning_closed": "unknown", "opening_above_hearth": "0",
            "hearth": {
                "front": "20", "facing": "0", "left": "12", "right": "12", "thickness": "2 3/4", "above_floor": "0", "below": "wood",
                "specified_r": "1.0 h.ft2.F/Btu",
                "layers": [
                    {"material": "brick_fired_clay_1920", "thickness": "2 1/4"},
                    {"material": "mortar_cement_lime_1920", "thickness": "1/2"},
                ],
            },
            "lintel": {
                "above": "wall", "behind": "nothing", "span": "36", "wall_thickness": "4", "wall_height": "60", "wall_weight": "40 lb/ft2",
                "sound_beside": True, "other_load": "0 lb/ft", "angle": "L3-1/2x3-1/2x1/4", "bearing": "4",
            },
            "looked": {"above": False, "beside": True, "before": True},
        }
    ],
    "firebox": {
        "depth": "20", "wall": "8", "back_wall": "8", "front_wall": "8", "lining": "2 1/2", "joint": "1/8",
        "floor_slab": "4", "floor_below": "concrete", "clamp_area": "51 in2",
        "throat_height": "38", "throat_depth": "4", "throat_width": "36", "damper": "throat", "damper_area": "140 in2",
        "damper_works": "unknown", "smoke_chamber_height": "30", "smoke_chamber_wall": "8", "smoke_chamber_form": "sloped",
        "smoke_chamber_slope": "45 deg", "smoke_chamber_parged": "unknown",
    },
    "flue": {
        "liner": "12", "shape": "round", "diameter": "12", "inside": "11 3/4 x 11 3/4", "area": "113 in2", "figure_area": "110 in2",
        "outside": "13 x 13", "shaft": "13 1/2 x 13 1/2",
        "height": "20 ft", "lining": "clay", "condition": "unknown", "place": "inside", "offsets": ["30 deg", "30 deg"],
        "cap": "none", "cap_area": "520 in2", "arrestor_area": "520 in2", "shared_with": "",
    },
    "nearby": [
        {
            "name": "oak mantel", "what": "mantel", "combustible": True, "face": "study", "above": "13", "beside": "0", "ahead": "0",
            "projection": "1 1/2", "gap": "2", "filled": False, "from_lining": "12", "masonry_wall": False,
            "protection": "none",
        },
        {"name": "rear sill", "what": "framing", "at": "firebox back", "gap": "4", "filled": False},
        {"name": "side stud", "what": "framing", "at": "firebox side", "gap": "2"},
    ],
    "looked": {"sides": False, "back": False, "chimney": True, "roofs": False},
    "use": {"open_together": False},
    "air": {
        "house_volume": "16000 ft3", "room_volume": "2400 ft3", "airtightness": "7 ACH50", "exterior_duct": "20 in2", "vent": "0 in2",
        "beyond_gaps": "0 in2", "makeup": "0 cfm", "fans": [{"name": "range hood", "flow": "400 cfm", "where": "house"}],
        "duct_from": "outdoors", "duct_above": "no", "duct_screened": "yes", "duct_outlet": "0", "duct_clear": "2",
        "gas_input": "0 Btu/h", "gas_logs": "none", "storeys": 2, "neutral_level": "8 ft",
    },
    "site": {
        "altitude": "600 ft", "outdoor": "32 F", "indoor": "68 F", "wind": "8 mph", "wind_on": "workshop", "shelter": 0.7,
        "top_pressure": "0 Pa",
    },
    "fire": {"size": "steady", "power": "22 kW"},
    "roof": [
        {
            "name": "workshop roof", "passes_through": True, "above_penetration": "38", "distance": "0 ft", "above_highest": "30",
            "pitch": "6:12", "width_along_ridge": "44", "crosses_ridge": False, "cricket_height": "0", "framing_gap": "2",
            "size_change_gap": "12",
        }
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
    "photo": [{"name": "left jamb", "file": "photos/jamb.jpg", "caption": "Soot", "shows": "study"}],
    "planned": {
        "face": [
            {
                "name": "workshop", "side": "back", "width": "36", "height": "30", "opens_to": "screened", "closure": "steel doors",
                "hearth": {"front": "20", "left": "12", "right": "12"},
            }
        ],
        "firebox": {"depth": "24"},
    },
    "signed": [
        {
            "name": "A. Mason", "role": "measured", "trade": "mason", "license": "No. 7", "date": dt.date(2026, 5, 4),
            "fingerprint": "f" * 64, "values": "e" * 64,
        },
    ],
}  # fmt: skip

_STUDY = {key: value for key, value in EVERY["face"][0].items() if key != "rise"}
SAMPLE: Document = {
    **EVERY,
    "face": [
        {**_STUDY, "arch": "flat"},
        {"name": "hall", "side": "left", "width": "24", "height": "24", "arch": "segmental", "rise": "4", "closure": "none"},
    ],
    "nearby": [
        *EVERY["nearby"][:2],
        {"name": "siding", "what": "siding", "at": "chimney", "gap": "1", "from_lining": "7"},
        {"name": "chair", "what": "furniture", "face": "hall", "ahead": "40", "protection": "none"},
    ],
    "site": {**EVERY["site"], "wind_on": "hall"},
    "planned": {
        **EVERY["planned"],
        "firebox": {"depth": "24", "throat_height": "39"},
        "flue": {"liner": "13x18"},
        "nearby": [{"name": "rear sill", "remove": True}, {"name": "beam", "what": "framing", "at": "firebox side", "gap": "2"}],
    },
}  # fmt: skip
