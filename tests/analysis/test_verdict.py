"""May a truss be called passing: the four answers by code, each reason brought about by the fact that it names."""

import pytest

from tests.beams import beam, gable, line
from trusses.analysis.analysis import analyse
from trusses.analysis.format.document import read
from trusses.analysis.verdict import BY_SEAL, KINDS, NEVER_AUTOMATIC, Known, Reason, Sealed, verdict
from trusses.analysis.words import verdict as words


def judged(document, known=None):
    truss = read(document)
    return verdict(truss, analyse(truss), *([known] if known else []))


def sound(**more):
    """The king post truss with chords that carry its loads."""
    document = gable(**more)
    for member in document["members"]:
        member["lumber"] = "2x8 DF-L Select Structural"
    return document


def long(feet, **more):
    return beam(feet * 12, "2x12 DF-L Select Structural", loads={"line": [line(0.1)]}, **more)


def codes(answer):
    return [reason.code for reason in answer.reasons]


class TestTheFourAnswers:
    def test_of_an_ordinary_truss(self):
        found = judged(sound())
        assert [(one.about, one.state) for one in found.answers] == [
            ("lumber", "passes"),
            ("plates", "not checked"),
            ("restraint", "not checked"),
            ("seal", "missing"),
        ]
        assert list(map(codes, found.answers)) == [["worst"], ["no-plate-table"], ["restraint-counted-on"], ["no-seal"]]
        assert found.may_be_called_passing
        assert not found.numbers_only

    def test_by_the_analysis_and_by_its_document_alike(self):
        for document in (sound(), sound(openings=[OPENING]), long(62), beam(120, "2x4 SPF Stud", loads=HEAVY)):
            truss = read(document)
            analysis = analyse(truss)
            one, other = verdict(truss, analysis), verdict(truss, analysis.document())
            assert [reason.code for reason in one.why_not] == [reason.code for reason in other.why_not]
            assert [answer.state for answer in one.answers] == [answer.state for answer in other.answers]

    def test_lumber_that_fails_names_its_worst_check(self):
        found = judged(beam(120, "2x4 SPF Stud", loads=HEAVY))
        assert found.lumber.state == "fails"
        (reason,) = found.lumber.reasons
        worst = max(analyse(read(beam(120, "2x4 SPF Stud", loads=HEAVY))).checks, key=lambda check: check.ratio)
        assert (reason.code, reason.values["rule"], reason.values["ratio"]) == ("check-fails", worst.rule, worst.ratio)
        assert not found.may_be_called_passing

    def test_an_opening_in_the_wood_is_a_reason_and_lumber_still_passes(self):
        found = judged(sound(openings=[OPENING]))
        assert found.lumber.state == "passes"
        assert found.why_not == (Reason("opening-blocked", {"openings": ["O1"]}),)

    def test_deflection_is_accepted_by_name_and_all_of_it_or_not_at_all(self):
        document = beam(240, "2x6 DF-L Select Structural", loads={"line": [line(25, "live")]})
        failing = {check.rule for check in analyse(read(document)).checks if not check.passes}
        assert failing == {"live deflection", "total deflection"}
        assert judged(document, Known(accepted=frozenset({"live deflection"}))).lumber.state == "fails"
        accepted = judged(document, Known(accepted=frozenset(failing)))
        assert (accepted.lumber.state, codes(accepted.lumber)) == ("passes", ["deflection-accepted"])
        assert words.state(accepted.lumber) == "passes, with an exception"
        assert not accepted.may_be_called_passing

    def test_restraint_that_no_document_names_is_missing(self):
        found = judged(sound(lateral_restraint={}))
        assert (found.restraint.state, codes(found.restraint)) == ("missing", ["no-restraint"])

    def test_what_the_set_knows_of_plates_and_seal(self):
        found = judged(sound(), Known(plate_report="Report 1", seal=Sealed()))
        assert codes(found.plates) == ["plate-table"]
        assert (found.seal.state, found.plates.state) == ("passes", "not checked")

    def test_a_seal_answers_for_what_it_covers_once_nothing_of_it_lacks(self):
        covers = frozenset({"plates", "restraint"})
        found = judged(sound(), Known(seal=Sealed(covers)))
        assert [one.state for one in found.answers] == ["passes", BY_SEAL, BY_SEAL, "passes"]
        found = judged(sound(), Known(seal=Sealed(covers, ("accepted",))))
        assert [one.state for one in found.answers] == ["passes", "not checked", "not checked", "missing"]
        assert codes(found.seal) == ["seal-not-accepted"]
        assert words.state(found.seal) == "not accepted yet"
        found = judged(sound(), Known(seal=Sealed(covers, ("reviewed", "accepted"))))
        assert words.state(found.seal) == "not reviewed and not accepted yet"
        assert words.state(judged(sound(), Known()).seal) == "missing"

    def test_a_seal_never_makes_failing_lumber_pass(self):
        found = judged(sound(), Known(behind=("R5",), seal=Sealed(frozenset({"plates"}))))
        assert found.lumber.state == "missing"

    def test_loads_that_the_drawing_lacks_make_its_lumber_missing(self):
        found = judged(sound(), Known(behind=("R5",)))
        assert (found.lumber.state, codes(found.lumber)) == ("missing", ["behind"])
        assert not found.may_be_called_passing


class TestNeverAutomatic:
    """Its numbers are shown, and it is never called passing, however low they are."""

    def test_a_span_of_sixty_feet(self):
        assert judged(long(59)).may_be_called_passing
        found = judged(long(62))
        assert analyse(read(long(62))).passes
        assert (found.lumber.state, codes(found.lumber)) == ("not checked", ["worst", "long-span"])
        assert found.numbers_only
        assert not found.may_be_called_passing

    def test_what_other_trusses_stand_on_by_links_or_by_the_document(self):
        """A hip with end jacks on it is known by its links; a title that names a street isn't read."""
        by_links = judged(sound(title="Hip"), Known(carries=("J1", "J2")))
        assert by_links.why_not == (Reason("carries-trusses", {"marks": ["J1", "J2"]}),)
        assert judged(sound(carries_trusses=True)).why_not == (Reason("carries-trusses", {"marks": []}),)
        assert judged(sound(title="Porch on Girder Street")).may_be_called_passing

    @pytest.mark.parametrize("kind", KINDS)
    def test_a_kind_that_the_set_says(self, kind):
        found = judged(sound(), Known(kinds=(kind,)))
        assert found.why_not == (Reason(kind),)
        assert found.numbers_only

    def test_a_failing_check_beside_it_is_more_than_its_kind(self):
        found = judged(beam(120, "2x4 SPF Stud", loads=HEAVY), Known(kinds=("repair",)))
        assert found.lumber.state == "fails"
        assert codes(found.lumber) == ["check-fails", "repair"]
        assert not found.numbers_only


OPENING = {"id": "O1", "shape": "circle", "centre_in": [96, 16], "diameter_in": 6}
HEAVY = {"line": [line(200)]}

SENTENCES = {
    "worst": ({"ratio": 0.874}, "No check is over its limit; the worst stands at 87% of what is allowed."),
    "no-check": ({}, "No check applies."),
    "check-fails": (
        {"of": "member", "id": "B1", "rule": "tension", "ratio": 1.4, "object": "member B1.1"},
        "Tension of member B1.1 stands at 140% of what is allowed.",
    ),
    "deflection-accepted": (
        {},
        "Every check of strength, stability and bearing passes; a deflection limit is exceeded and was accepted.",
    ),
    "behind": (
        {"marks": ["R5", "R6"]},
        "What R5, R6 put on it today is not what this drawing has; its numbers leave that out.",
    ),
    "shared-wood": (
        {"pieces": ["W2", "T1"]},
        "The wood of W2 and T1 would have to be in the same place: such a truss can't be built.",
    ),
    "opening-blocked": ({"openings": ["O1", "O2"]}, "Not clear of wood: opening O1 and O2."),
    "long-span": (
        {"span_in": 744},
        "Its span is 62'-0\": a truss of 60 ft and more is never called passing here, and waits for its sealed"
        " drawing.",
    ),
    "carries-trusses": (
        {"marks": ["R5"]},
        "It carries R5: a girder with hangers is never called passing here, and waits for its sealed drawing.",
    ),
    "wet-lumber": (
        {},
        "Its lumber stays wet: such a truss is never called passing here, and waits for its sealed drawing.",
    ),
    "incised-lumber": (
        {},
        "Its lumber is incised: such a truss is never called passing here, and waits for its sealed drawing.",
    ),
    "drag": ({}, "It is a drag truss: such a truss is never called passing here, and waits for its sealed drawing."),
    "gable-end": (
        {},
        "It is a gable-end truss: such a truss is never called passing here, and waits for its sealed drawing.",
    ),
    "fire-rated": (
        {},
        "It is part of a fire-rated assembly: such a truss is never called passing here, and waits for its sealed"
        " drawing.",
    ),
    "treated": (
        {},
        "Its lumber is treated: such a truss is never called passing here, and waits for its sealed drawing.",
    ),
    "repair": ({}, "It is a repair: such a truss is never called passing here, and waits for its sealed drawing."),
    "damaged": ({}, "It is damaged: such a truss is never called passing here, and waits for its sealed drawing."),
    "no-plate-table": ({}, "No plate is chosen or checked here; this job has no table of plate values."),
    "plate-table": (
        {"report": "Report 1"},
        "No plate is chosen or checked here; the areas of teeth follow this job's table, Report 1.",
    ),
    "no-restraint": ({}, "The truss document names no lateral restraint."),
    "restraint-counted-on": (
        {},
        "The checks count on the lateral restraint that the document states; the diagonal bracing that makes it work is"
        " not designed here.",
    ),
    "no-seal": ({}, "No drawing sealed by a registered design professional is attached."),
    "sealed": ({}, "A drawing sealed by a registered design professional is attached."),
    "seal-not-reviewed": (
        {},
        "The sealed drawing is attached; that the building designer reviewed it isn't recorded.",
    ),
    "seal-not-accepted": (
        {},
        "The sealed drawing is attached; that the building department accepted it isn't recorded.",
    ),
    "numbers-by-seal": ({}, "Such a truss is never called passing here; its sealed drawing answers for it."),
    "covered-by-seal": ({}, "No plate is checked here; the sealed drawing shows them."),
    "restraint-by-seal": (
        {},
        "The sealed drawing shows it; how trusses are braced while they are set it may not.",
    ),
}


@pytest.mark.parametrize("code", SENTENCES)
def test_the_sentence_of_a_reason(code):
    values, says = SENTENCES[code]
    assert words.reason(Reason(code, values)) == says


def test_every_reason_has_a_sentence_and_its_test():
    assert words.REASONS.keys() == SENTENCES.keys()
    assert words.REASONS.keys() >= NEVER_AUTOMATIC


def test_nobody_named_is_carried_too():
    says = words.reason(Reason("carries-trusses", {"marks": []}))
    assert says.startswith("Other trusses stand or hang on it: a girder with hangers is never called passing here")
