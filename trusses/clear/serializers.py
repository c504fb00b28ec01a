"""What the API gives for the map of clear openings."""

from __future__ import annotations

from rest_framework import serializers

from trusses.serializers import StrictSerializer


class PlaceField(serializers.ListField):
    """x and y in the truss's own coordinates."""

    child = serializers.FloatField()


class CircleSerializer(serializers.Serializer):
    centre_in = PlaceField(min_length=2, max_length=2)
    diameter_in = serializers.FloatField()


class LevelRectangleSerializer(serializers.Serializer):
    centre_in = PlaceField(min_length=2, max_length=2)
    width_in = serializers.FloatField()
    height_in = serializers.FloatField()


class ShapedRectangleSerializer(LevelRectangleSerializer):
    width_to_height = serializers.FloatField()


class PocketSerializer(serializers.Serializer):
    """One pocket, from the left: the members around it, the openings in it already, and the largest that it holds."""

    number = serializers.IntegerField()
    between = serializers.ListField(child=serializers.CharField(), help_text="What the drawing calls the members.")
    members = serializers.ListField(child=serializers.CharField(), help_text="Their ids.")
    openings = serializers.ListField(child=serializers.CharField())
    circle = CircleSerializer()
    rectangles = ShapedRectangleSerializer(many=True, help_text="The largest of each usual width to height.")
    widest = LevelRectangleSerializer(many=True, help_text="The widest of each usual height that the pocket holds.")


class AreasSerializer(serializers.Serializer):
    pocket = serializers.IntegerField()
    areas = serializers.ListField(
        child=serializers.ListField(child=serializers.ListField(child=PlaceField())),
        help_text="Each area as its outer ring, then what is cut out of it. Arcs are drawn straight, 0.002 in. at most"
        " inside the true ones.",
    )


class ClearMapSerializer(serializers.Serializer):
    mark = serializers.CharField()
    truss_sha256 = serializers.CharField()
    pockets = PocketSerializer(many=True)
    centres = AreasSerializer(
        many=True, allow_null=True, help_text="Where the centre of the size that was asked may stand; null without one."
    )


class SizeSerializer(StrictSerializer):
    """A size to ask the map for: a diameter, or a width and a height."""

    diameter_in = serializers.FloatField(required=False, max_value=1e4)
    width_in = serializers.FloatField(required=False, max_value=1e4)
    height_in = serializers.FloatField(required=False, max_value=1e4)
    clearance_in = serializers.FloatField(required=False, min_value=0, max_value=1e4)

    def validate(self, data: dict[str, float]) -> dict[str, float]:
        for name in ("diameter_in", "width_in", "height_in"):
            if name in data and data[name] <= 0:
                raise serializers.ValidationError({name: ["A size is more than 0 in."]})
        given = set(data) - {"clearance_in"}
        if given not in (set(), {"diameter_in"}, {"width_in", "height_in"}) or (data and not given):
            raise serializers.ValidationError(
                {"detail": "Ask with diameter_in, or with width_in and height_in; without any, no size is asked for."}
            )
        return data
