"""Leads, links and main cable in SI, from their keys."""

from bankSim.model import cables
from bankSim.model.bank import Layout, Wiring
from bankSim.scenario.keys import WiringKeys
from bankSim.scenario.keys_battery import CableKeys, FusedCableKeys
from bankSim.scenario.notes import Notes

USUAL_JOINTS = 2
_NO_LINKS = "a row without link resistance (link_mohm or link) behaves like equal leads"
_NOTHING = "not given: taken as nothing"
_JOINT_SOURCE = "both ends of each conductor bolted (assumption)"


def build_wiring(
    keys: WiringKeys, temperature_K: float, battery_count: int, notes: Notes
) -> Wiring:
    """Return the wiring in SI.

    Parameters
    ----------
    keys : WiringKeys
    temperature_K : float
        Of the copper. [K]
    battery_count : int
        A row of one has no links.
    notes : Notes
        Gets what was assumed or has no effect.
    """
    if keys.layout is None and battery_count > 1:
        notes.assume("wiring.layout", Layout.EQUAL_LEADS.value, "", "default layout")
    layout = Layout(keys.layout or Layout.EQUAL_LEADS.value)
    row = layout is not Layout.EQUAL_LEADS and battery_count > 1
    link_ohm = _link_ohm(keys, row, temperature_K, notes)
    if row and link_ohm == 0.0:
        notes.no_effect("wiring.layout", _NO_LINKS)
    return Wiring(
        layout=layout,
        link_ohm=link_ohm,
        main_ohm=_main_ohm(keys, temperature_K, notes),
        main_fuse_A=keys.main.fuse_A if keys.main else None,
        main_area_mm2=keys.main.area_mm2 if keys.main else None,
        link_area_mm2=keys.link.area_mm2 if row and keys.link else None,
    )


def cable_ohm(
    keys: CableKeys, key: str, conductors: int, temperature_K: float, notes: Notes
) -> float:
    """Return a cable with its joints and fuse; the joints stand on each conductor. [ohm]"""
    joints = int(notes.given_or(keys.joints, f"{key}.joints", USUAL_JOINTS, "", _JOINT_SOURCE))
    total = cables.cable_ohm(keys.length_m, keys.area_mm2, temperature_K, conductors)
    total += cables.joints_ohm(conductors * joints)
    if isinstance(keys, FusedCableKeys) and keys.fuse_A is not None:
        total += cables.fuse_ohm(keys.fuse_A)
    return total


def _link_ohm(keys: WiringKeys, row: bool, temperature_K: float, notes: Notes) -> float:
    if not row:
        for key in ("link_mohm", "link"):
            if getattr(keys, key) is not None:
                notes.no_effect(f"wiring.{key}", "there are no links in this layout")
        return 0.0
    if keys.link is not None:
        return cable_ohm(keys.link, "wiring.link", 1, temperature_K, notes)
    mohm = notes.given_or(keys.link_mohm, "wiring.link_mohm", 0.0, "mohm", _NOTHING)
    return mohm * 1e-3


def _main_ohm(keys: WiringKeys, temperature_K: float, notes: Notes) -> float:
    if keys.main is not None:
        return cable_ohm(keys.main, "wiring.main", 2, temperature_K, notes)
    return notes.given_or(keys.main_mohm, "wiring.main_mohm", 0.0, "mohm", _NOTHING) * 1e-3
