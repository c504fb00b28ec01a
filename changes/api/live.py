"""What the API answers at once, of an opening or a run that nobody has filed."""

from __future__ import annotations

from rest_framework import serializers

from changes.asks.holding import HOW


class NearestSerializer(serializers.Serializer):
    """The nearest place where the same opening is clear of wood in today's truss, as that is. Nothing else is looked
    at: the truss isn't changed by it, so what its bearings, ties and plates are held to stays what it was, and whether
    it may be called passing as it is, `verdict` and `says` tell, not this."""

    centre_in = serializers.ListField(child=serializers.FloatField(), min_length=2, max_length=2)
    moved_in = serializers.FloatField()


class FitAnswerSerializer(serializers.Serializer):
    """`spare_in` is negative where the opening would have to move; `never`: it would cut a chord or leave the truss."""

    fits = serializers.BooleanField()
    spare_in = serializers.FloatField()
    touches = serializers.ListField(child=serializers.CharField(), help_text="Ids of the members in the way.")
    called = serializers.ListField(child=serializers.CharField(), help_text="What the drawing calls them.")
    nearest = NearestSerializer(allow_null=True)
    never = serializers.BooleanField()
    answer = serializers.CharField(
        help_text="In a few words: whether it fits, never does, or which members it touches."
    )
    says = serializers.CharField()
    beside = serializers.CharField(
        help_text="What it meets besides wood: openings that the truss has or others ask for, and where rows of"
        " lateral restraint must go; else empty."
    )
    likely = serializers.CharField(
        help_text="What a redesign would most likely take, where the atlas of the truss knows; no verdict, else empty."
    )


class CrossingSerializer(serializers.Serializer):
    """One truss that a run crosses. `verdict`: fits, moves (webs are in the way, and it fits if the run moves by
    `moves_in`), redesign, never (a chord would be cut or the truss left as it runs). `moves_in`: the nearest place
    where it fits, in this truss's own plane: right, up. Sizes are as the truss meets it."""

    letter = serializers.CharField()
    truss = serializers.CharField(help_text="Its mark.")
    copy = serializers.IntegerField()
    at_in = serializers.ListField(child=serializers.FloatField(), help_text="In plan.")
    x_in = serializers.FloatField(help_text="In the truss document.")
    height_in = serializers.FloatField(help_text="Of the run's middle above its datum.")
    falls_in = serializers.FloatField(help_text="How far it is below the run's first point there.")
    width_in = serializers.FloatField()
    opening_height_in = serializers.FloatField()
    verdict = serializers.CharField()
    spare_in = serializers.FloatField()
    touches = serializers.ListField(child=serializers.CharField(), help_text="Ids of the members in the way.")
    moves_in = serializers.ListField(child=serializers.FloatField(), allow_null=True)
    says = serializers.CharField()
    as_cut = serializers.ChoiceField(
        choices=HOW,
        allow_null=True,
        help_text="Of a copy that is cut already: fits (as built: nothing is asked of it), in the way, damaged (told of"
        " as such, so not as drawn), or taken (by what goes through there); all but the first are asked `without` it.",
    )
    taken_by = serializers.JSONField(
        allow_null=True,
        help_text="The `request` whose run goes through there already, or the `opening` of its drawing.",
    )
    built_to = serializers.IntegerField(allow_null=True, help_text="The revision that a cut copy was built to.")


class RunLineSerializer(serializers.Serializer):
    """A better line: moved along x or y of the plan and up, or with bends. `cleared`: which of its points were moved
    before that, since they stood in trusses."""

    run = serializers.JSONField()
    cleared = serializers.ListField(child=serializers.JSONField())
    changes = serializers.IntegerField()
    never = serializers.IntegerField()
    along = serializers.CharField()
    sideways_in = serializers.FloatField()
    up_in = serializers.FloatField()
    bends = serializers.IntegerField()
    longer_in = serializers.FloatField()


class RunAnswerSerializer(serializers.Serializer):
    """`changes`: how many trusses it doesn't fit in as they are, those included that are cut and don't take it, and
    with `together` as the one opening of their mark; `never`: of those that aren't cut, where a chord would be cut or
    the truss left as it runs. `pieces`: the longest rigid length for each leg, before and after the trusses are set."""

    crossings = CrossingSerializer(many=True)
    passes_by = serializers.ListField(child=serializers.CharField())
    passes = serializers.ListField(
        child=serializers.JSONField(),
        help_text="The same, each with the `side` on which the run is (above, below, beside) and what is `clear_in`.",
    )
    other_heights = serializers.JSONField(
        allow_null=True,
        help_text="Where it meets no truss that its line lies over: between which heights of its middle it would"
        " (`meets_in`), and the nearest at which it goes `through` them without cutting a chord; else null.",
    )
    rows = serializers.ListField(
        child=serializers.CharField(),
        help_text="Rows of lateral restraint that it takes an edge from where it fits, in words; what a redesign does"
        " to rows comes with the answer.",
    )
    between = serializers.ListField(child=serializers.JSONField(), help_text="Legs that run along trusses.")
    corners = serializers.ListField(
        child=serializers.JSONField(),
        help_text="Corners that stand in a truss; `clear_at_in`: the nearest places in plan where one is clear.",
    )
    ends = serializers.ListField(
        child=serializers.JSONField(),
        help_text="Ends that stand in a truss; they are past it `past_in` farther on, short of it `short_in` less far.",
    )
    meets = serializers.ListField(
        child=serializers.JSONField(),
        help_text="Other runs that it comes into, open or approved, in a truss or between two: `path_in` along it"
        " (on end `within_in`), `by_in` too near with the clear space of both; `joins`: one begins or ends in the"
        " other, as a branch does; `level`: the other's, where that is another one. Levels are held against each"
        " other where it was said how high both bear.",
    )
    not_compared = serializers.ListField(
        child=serializers.JSONField(),
        help_text="Runs of other levels over or under it on the plan that it is not held against, since nobody said how"
        " high both levels bear.",
    )
    meets_itself = serializers.CharField(
        help_text="Where a piece of it comes into another one of it, in words: so it can't be asked for; else empty."
    )
    pieces = serializers.ListField(child=serializers.JSONField())
    changes = serializers.IntegerField()
    never = serializers.IntegerField()
    verdict = serializers.CharField(help_text="The worst of all.")
    lines = RunLineSerializer(many=True, required=False)
    lines_lack = serializers.CharField(required=False, help_text="Which better lines there are none of, in words.")
