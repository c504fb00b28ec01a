"""What carriers feel when copies of a mark go their own way: each variant puts its reactions where its copies stand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from trusses.analysis.load_path import chain
from trusses.analysis.load_path.transfer import without
from trusses.bearings.links import Chain, chain_of, standing_on
from trusses.models import Truss
from trusses.variants.homes import Home
from trusses.variants.moving import leaving, put_together, rows_of, shared_out
from trusses.variants.rows import Row, joined, stood_anew


def follow(reached: Chain, homes: Sequence[Home], analysed: chain.Analysed = chain.anew) -> list[chain.Step]:
    """What the carriers become, in the order of the chain above the marks of `homes`; those without an analysis make
    nothing. Raises CarryingError where named places can't be shared out."""
    if not reached.links:
        return []
    return _up(*_parted(reached, homes), analysed)


def with_joined(reached: Chain, homes: Sequence[Home]) -> Chain:
    """The chain above the marks that copies leave, with the chain above those that they join: of these other copies may
    stand elsewhere."""
    joins = [home.to for home in homes if home.to is not None]
    if not reached.links or not joins:
        return reached
    return chain_of({one.pk: one for one in (*(home.truss for home in homes), *joins)}.values())


def refuse_unlike(homes: Sequence[Home]) -> None:
    """Raises CarryingError where what stands on a mark would not land alike on all of its copies, once some of them are
    another mark's: one drawing serves a mark's copies, so each has to carry the same at the same places."""
    parted = [home for home in homes if home.goes != "revise"]
    trusses = {one.pk: one for home in parted for one in (home.truss, home.to) if one is not None}
    standing = {one.pk: one for truss in trusses.values() for one in standing_on(truss)}
    if not standing:
        return
    joins = {home.to.pk: home.to for home in parted if home.to is not None}
    before, links, then = _parted(chain_of((standing | joins).values()), parted)
    emptied = [mark for mark, one in then.items() if one.copies == 0]
    links = chain.beside_each_other(link for link in links if not {link.carried, link.carrier} & set(emptied))
    for mark in then:
        if mark not in emptied:
            chain.carried_by(before | then, links, mark)


def _parted(
    reached: Chain, homes: Sequence[Home]
) -> tuple[dict[str, chain.Mark], list[chain.Link], dict[str, chain.Mark]]:
    """The marks of a chain as they are, with the variants to come on the design that their copies have today; the links
    of them all; and the marks that are otherwise once the copies are at home."""
    before, links = dict(reached.marks), list(reached.links)
    then: dict[str, chain.Mark] = {}
    rows: dict[str, list[Row]] = {}
    numbers: dict[str, list[int]] = {}
    for home in homes:
        mark, analysis = home.truss.mark, home.analysis
        if analysis is None or mark not in before:
            continue
        own = then.get(mark, before[mark])
        if home.goes == "revise":
            rows[mark] = stood_anew(rows.get(mark, rows_of(home.truss)), own.document, home.document)
            then[mark] = replace(own, document=home.document, analysis=analysis, stands=_stands(rows[mark]))
            continue
        rows.setdefault(mark, rows_of(home.truss))
        rows[mark], gone = leaving(rows[mark], home, own.document)
        there = stood_anew(gone, own.document, home.document)
        mine = numbers.setdefault(mark, _numbers(home.truss))
        theirs = numbers.setdefault(home.mark, _numbers(home.to) if home.to else [])
        links = _parting(links, home, mine) if home.to is None else _joining(links, home, mine, theirs)
        numbers[mark] = [number for number in mine if number not in home.copies]
        numbers[home.mark] = sorted([*theirs, *home.copies])
        left = replace(own, copies=own.copies - len(home.copies), stands=_stands(rows[mark]))
        if home.to is None or before[home.mark].copies == 0:
            # before as after, only the design is another: what the carrier feels is what changes in it
            to = before[mark] if home.to is None else before[home.mark]
            rows[home.mark] = there
            before[home.mark] = replace(before[mark], copies=len(home.copies), stands=_stands(gone))
            before[mark] = replace(before[mark], copies=left.copies, stands=left.stands)
            then[home.mark] = replace(
                before[home.mark],
                document=home.document,
                analysis=analysis,
                stands=_stands(there),
                surroundings=to.surroundings,
                taken=to.taken,
            )
            then[mark] = replace(then.get(mark, before[mark]), copies=left.copies, stands=left.stands)
        else:
            # what they stand on, and what stands on them, need not be what the others of the mark have
            to = then.get(home.mark, before[home.mark])
            rows.setdefault(home.mark, rows_of(home.to))
            rows[home.mark] = joined([*rows[home.mark], *there])
            then[mark] = left
            then[home.mark] = replace(to, copies=to.copies + len(home.copies), stands=_stands(rows[home.mark]))
    return before, links, then


def _up(
    before: dict[str, chain.Mark], links: list[chain.Link], then: dict[str, chain.Mark], analysed: chain.Analysed
) -> list[chain.Step]:
    """What is carried no longer goes from its carriers' drawings first."""
    emptied = [mark for mark, one in then.items() if one.copies == 0]
    for link in [link for link in links if link.carried in emptied]:
        carrier = then.get(link.carrier, before[link.carrier])
        document, taken = without(carrier.document, [link.carried], carrier.taken)
        then[link.carrier] = replace(carrier, document=document, taken=taken)
    links = [link for link in links if not {link.carried, link.carrier} & set(emptied)]
    links = chain.beside_each_other(links)
    return chain.follow(before, links, {mark: one for mark, one in then.items() if one.copies}, analysed)


def _stands(rows: Sequence[Row]) -> tuple[chain.Stand, ...]:
    return tuple(row.stand for row in rows)


def _numbers(truss: Truss) -> list[int]:
    return sorted(truss.copies.values_list("number", flat=True))


def _parting(links: Sequence[chain.Link], home: Home, numbers: Sequence[int]) -> list[chain.Link]:
    """The links with those of the variant that is split off. `numbers` are the copies of the mark that it leaves."""
    shared = [part for link in links for part in _shared(link, home, numbers)]
    on_it = [replace(link, carrier=home.mark) for link in shared if link.carrier == home.truss.mark]
    return chain.beside_each_other([*shared, *on_it])


def _shared(link: chain.Link, home: Home, numbers: Sequence[int]) -> list[chain.Link]:
    """A link of the mark that a variant leaves, and the variant's."""
    if link.carried != home.truss.mark:
        return [link]
    stay, go = shared_out(link.hung, home, numbers, link.carrier)
    return [replace(link, hung=stay), replace(link, carried=home.mark, hung=go)]


def _joining(
    links: Sequence[chain.Link], home: Home, numbers: Sequence[int], theirs: Sequence[int]
) -> list[chain.Link]:
    """The links with those that the mark which copies join gets by them; `numbers` are the copies of the mark that they
    leave, `theirs` those of the mark that they join. Raises CarryingError where nobody said which of the places that
    were named are theirs."""
    mark = home.truss.mark
    every = {(link.carried, link.joint, link.carrier): link for link in links}
    for link in links:
        if link.carried == mark:
            stay, go = shared_out(link.hung, home, numbers, link.carrier)
            there = every.get((home.mark, link.joint, link.carrier))
            hung = put_together(there.hung if there else (), theirs, go, home, link.carrier)
            every[mark, link.joint, link.carrier] = replace(link, hung=stay)
            every[home.mark, link.joint, link.carrier] = replace(link, carried=home.mark, hung=tuple(hung))
        elif link.carrier == mark:
            every.setdefault((link.carried, link.joint, home.mark), replace(link, carrier=home.mark))
    return chain.beside_each_other(every.values())
