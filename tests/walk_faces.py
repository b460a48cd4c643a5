"""The walk of a job whose flanges have facings, whose dimensions may hold a gasket, and whose valves come by type.

An extension of `walk.py`, which knows raised faces alone. A flange is built up from what stands behind the face: the
hub as the standard tabulates it without a face, and on it a raised face, nothing, or a ring joint's raised portion,
as high as its groove is deep. A gasket that the drawing's dimension holds lies between the work point and the face.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from walk import BUTT, FLANGES, Arm, Item, Leg, Node, Walk


def facing_at(said: Mapping[str, Any], key: str, spool: Mapping[str, Any]) -> str:
    """The facing of a flange: its own, the spool's, or a raised face."""
    return str(said.get(key) or spool.get("facing") or "RF")


class FacedWalk(Walk):
    """Walks a job with facings and gaskets."""

    def faced(self, kind: str, leg: Leg, flange_class: str, stub: str, facing: str) -> tuple[float | None, bool]:
        """From a flange's contact face to the end of its pipe, whatever its facing."""
        raised, doubtful = self._flange(kind, leg, flange_class, stub)
        row = self.facts.row("flange", size=leg.size, **{"class": flange_class})
        ring = self.facts.row("ring_joint", size=leg.size, **{"class": flange_class})
        if facing == "RTJ" and (not ring or kind == "lap_joint"):
            return None, doubtful
        if raised is None or facing == "RF" or kind in ("slip_on_flange", "lap_joint") or flange_class.startswith("PN"):
            return raised, doubtful
        if kind == "weld_neck_flange":
            return self.facts.value(*((ring, "weld_neck") if facing == "RTJ" else (row, "weld_neck_flat"))), doubtful
        through, depth = self.facts.value(row, "socket_weld_flat"), self.facts.value(row, "socket_depth")
        assert through is not None and depth is not None
        groove = self.facts.value(ring, "groove_depth") if facing == "RTJ" else 0.0
        assert groove is not None
        return groove + through - depth + self.rules["socket_pullback"], doubtful

    def gasket(self, node: Node) -> float:
        """What a gasket takes of the leg between its work point and the face."""
        if node.kind not in FLANGES:
            return 0.0
        return self.length(node.said.get("start_gasket" if node.first else "gasket", 0))

    def _typed(self, node: Node, arm: Arm) -> float | None:
        said = super()._typed(node, arm)
        return None if said is None else said + self.gasket(node)

    def _single(self, node: Node, arm: Arm) -> tuple[float | None, bool, str]:
        if node.kind not in FLANGES:
            return super()._single(node, arm)
        leg = arm.leg
        stub = str(node.said.get("start_stub" if node.first else "stub", "long"))
        flange_class = str(node.spool.get("class", leg.flange_class)) if node.first else leg.flange_class
        facing = facing_at(node.said, "start_facing" if node.first else "facing", node.spool)
        take, doubtful = self.faced(node.kind, leg, flange_class, stub, facing)
        return (None if take is None else take + self.gasket(node)), doubtful, ""

    def _items(self, leg: Leg) -> list[Item]:
        found = [self.item(leg, said) for said in leg.said.get("inline", [])]
        return sorted(found, key=lambda item: item.centre)

    def item(self, leg: Leg, said: Mapping[str, Any]) -> Item:
        """An item with what stands beside it: flange, facing, gasket or ring."""
        ends, kind = said["ends"], said.get("flange", "")
        flange_class = str(said.get("class", leg.flange_class))
        faces = ends in ("flanged", "wafer")
        facing = facing_at(said, "facing", leg.end_node.spool) if faces else ""
        butt = ends == "butt" or kind in ("weld_neck_flange", "lap_joint")
        gaps = 0.0
        beside: float | None
        if "takes" in said:
            half, beside, doubtful = self.length(said["takes"]) / 2, 0.0, False
        else:
            gasket, doubtful = self.between_faces(leg, said, flange_class, facing)
            length, from_memory = self.own_length(leg, said, flange_class, facing)
            half = length / 2 + gasket
            beside, of_flange = None, False
            if faces:
                beside, of_flange = self.faced(kind, leg, flange_class, "long", facing)
            elif ends == "butt":
                beside = 0.0
            elif ends == "threaded":
                beside, of_flange = self.screwed_in(leg)
            doubtful = doubtful or of_flange or from_memory
            gaps = float(butt)
        return self._placed(leg, said, half, beside, gaps, doubtful, butt)

    def between_faces(self, leg: Leg, said: Mapping[str, Any], flange_class: str, facing: str) -> tuple[float, bool]:
        """A gasket's thickness, or the gap that a ring leaves; and whether the gap is from memory."""
        if "gasket" in said or facing != "RTJ":
            return self.length(said.get("gasket", 0)), False
        ring = self.facts.row("ring_joint", size=leg.size, **{"class": flange_class})
        gap = self.facts.value(ring, "gap") if ring else 0.0
        assert gap is not None
        return gap, self.facts.doubtful(ring, "gap_status")

    def own_length(self, leg: Leg, said: Mapping[str, Any], flange_class: str, facing: str) -> tuple[float, bool]:
        """The item's own length, as typed or as the valve table has it, and whether it is from memory."""
        if "length" in said:
            return self.length(said["length"]), False
        row = self.facts.row("valve", valve=said["valve"], size=leg.size, **{"class": flange_class})
        column = {"butt": "weld_ends", "flanged": "ring_joint" if facing == "RTJ" else "face_to_face"}[said["ends"]]
        length = self.facts.value(row, column)
        assert length is not None, said
        return length, self.facts.doubtful(row)


__all__ = ["BUTT", "FacedWalk", "facing_at"]
