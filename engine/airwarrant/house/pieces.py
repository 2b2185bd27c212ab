"""The air path of a house as a row of pieces from the rooms to the unit and from the unit to the rooms, as its form has them."""

from collections.abc import Callable
from dataclasses import dataclass

from airwarrant.house.assumptions import Assumptions, si
from airwarrant.house.clean import DUCT_EXPONENT, FITTING_EXPONENT, area_of, duct_loss
from airwarrant.house.surroundings import air_density
from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.job.lookup import reading
from airwarrant.job.readings import Reading
from airwarrant.job.record import Item, JobRecord

#: Loss [Pa] of a piece in good order at a flow [m3/s].
Clean = Callable[[float], float]


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of the path.

    Attributes
    ----------
    id : str
        ``filter-grille``, ``return-duct``, ``platform``, ``return-elbow``, ``collar``; ``coil``, ``supply-elbow``, ``plenum``,
        ``branches``.
    exponent : float
    reading : Reading or None
        Its drop as read; None where nobody measured it.
    name : str
        ``key.field`` of the reading.
    clean : callable
        What it would lose in good order; for a piece without sizes, the usual drop of such a piece.
    sized : bool
        Whether `clean` follows from recorded sizes.
    item : str
        Key of the item it belongs to, ``house`` if it is none.
    """

    id: str
    exponent: float
    reading: Reading | None
    name: str
    clean: Clean
    sized: bool = False
    item: str = HOUSE_KEY


def return_side(record: JobRecord, assumptions: Assumptions) -> list[Piece]:
    """Pieces from the rooms to the unit."""
    form = record.items[HOUSE_KEY].words.get("old_form") or record.items[HOUSE_KEY].words.get("form", "")
    usual = _Usual(record, assumptions)
    pieces = [usual.piece("filter-grille", "filter_drop", assumptions["predict_filter_exponent"])]
    ducts = [item for item in record.items.values() if item.kind == "return"]
    if form == "split-closet" or (not ducts and _of(record, "platform")):
        pieces.append(usual.piece("platform", "return_duct_drop"))
    else:
        clean = _duct_clean(ducts, assumptions, air_density(record, []))
        key = ducts[0].key if len(ducts) == 1 else HOUSE_KEY
        duct = usual.piece("return-duct", "return_duct_drop", DUCT_EXPONENT)
        if clean is not None:
            duct = Piece(duct.id, duct.exponent, duct.reading, duct.name, clean, True, key)
        pieces.append(duct)
    pieces += usual.elbow("return-elbow", "return_leg")
    collar = usual.piece("collar", "collar_drop")
    if collar.reading is None:
        collar = usual.of_plenum(collar, "return")
    # A collar is a part of a roof unit's path; elsewhere it is there if someone measured it.
    if collar.reading is not None or form.startswith("package"):
        pieces.append(collar)
    return pieces


def supply_side(record: JobRecord, assumptions: Assumptions) -> list[Piece]:
    """Pieces from the unit to the rooms; the last is the branches."""
    form = record.items[HOUSE_KEY].words.get("old_form") or record.items[HOUSE_KEY].words.get("form", "")
    usual = _Usual(record, assumptions)
    pieces = []
    coil = usual.piece("coil", "coil_drop")
    if coil.reading is not None or form == "furnace-coil":
        pieces.append(coil)
    pieces += usual.elbow("supply-elbow", "supply_leg")
    plenum = usual.piece("plenum", "plenum_drop")
    if plenum.reading is None:
        plenum = usual.of_plenum(plenum, "supply")
    branches = usual.piece("branches", "branch_drop")
    return [*pieces, plenum, branches]


def _of(record: JobRecord, kind: str) -> list[Item]:
    return [item for item in record.items.values() if item.kind == kind]


@dataclass(frozen=True, slots=True)
class _Usual:
    record: JobRecord
    assumptions: Assumptions

    def piece(self, id: str, field: str, exponent: float = FITTING_EXPONENT) -> Piece:
        return Piece(id, exponent, self._read(HOUSE_KEY, field), f"{HOUSE_KEY}.{field}", self._usual(id))

    def elbow(self, id: str, leg: str) -> list[Piece]:
        """The leg of a roof elbow, if the house has one; of several the first whose leg was read."""
        elbows = [item for item in _of(self.record, "elbow") if item.words.get("style") != "none"]
        for item in sorted(elbows, key=lambda item: self._read(item.key, leg) is None)[:1]:
            found = self._read(item.key, leg)
            return [Piece(id, FITTING_EXPONENT, found, f"{item.key}.{leg}", self._usual("elbow"), item=item.key)]
        return []

    def of_plenum(self, piece: Piece, side: str) -> Piece:
        """The piece with the reading of the plenum on a side, where the house's own is missing."""
        for item in _of(self.record, "plenum"):
            found = self._read(item.key, "drop")
            if item.words.get("side") == side:
                return Piece(piece.id, piece.exponent, found, f"{item.key}.drop", piece.clean, item=item.key)
        return piece

    def _read(self, key: str, field: str) -> Reading | None:
        return reading(self.record, key, field, "found")

    def _usual(self, id: str) -> Clean:
        """The usual drop of such a piece at nominal airflow, with the square of the flow; any flow is nominal without tons."""
        tons = self.record.old.get("tons") or self.record.new.get("tons")
        drop = self.assumptions[f"predict_usual_{id.replace('-', '_')}"]
        if tons is None:
            return lambda flow: drop
        nominal = self.assumptions["predict_nominal_flow"] * si(tons)
        return lambda flow: drop * (flow / nominal) ** 2


def _duct_clean(ducts: list[Item], assumptions: Assumptions, density: float) -> Clean | None:
    """Clean loss of the return ducts side by side, if each has a size; they share the flow by their areas."""
    sized = [item for item in ducts if "diameter" in item.numbers]
    if not sized or len(sized) < len(ducts):
        return None
    diameters = [si(item.numbers["diameter"]) for item in sized]
    lengths = [
        si(item.numbers["length"]) if "length" in item.numbers else assumptions["predict_duct_length"] for item in sized
    ]
    bends = [item.numbers["bends"].value if "bends" in item.numbers else 1.0 for item in sized]
    materials = [item.words.get("material", "flex") for item in sized]
    whole = sum(area_of(d) for d in diameters)

    def clean(flow: float) -> float:
        losses = [
            duct_loss(
                max(flow, 1e-6) * area_of(d) / whole,
                d,
                length,
                material=material,
                bends=bend,
                compression=assumptions["predict_compression"],
                density=density,
            )
            for d, length, bend, material in zip(diameters, lengths, bends, materials, strict=True)
        ]
        return sum(losses) / len(losses)

    return clean
