"""What a part should be made of: a design, its schedule of plies and steps, and the windows between them."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.db import models
from django.utils.translation import gettext

from inventory.models import Material


def _one_of(line: str, step: str) -> models.Q:
    """A line or a step's name, and not both."""
    return (models.Q(**{f"{line}__isnull": False}) & models.Q(**{step: ""})) | (
        models.Q(**{f"{line}__isnull": True}) & ~models.Q(**{step: ""})
    )


def _ordered(low: str, high: str) -> models.Q:
    return models.Q(**{f"{low}__isnull": True}) | models.Q(**{f"{high}__isnull": True}) | models.Q(**{f"{low}__lte": models.F(high)})


def _below_all(name: str) -> models.Q:
    return models.Q(**{f"{name}__isnull": True}) | models.Q(**{f"{name}__gte": 0, f"{name}__lt": 1_000_000})


def _share(name: str) -> models.Q:
    return models.Q(**{f"{name}__isnull": True}) | models.Q(**{f"{name}__gte": 0, f"{name}__lte": 1_000_000})


class Design(models.Model):
    """One version of a product's design. `cure_min_mc` is the temperature below which an aborted run counts as not
    started (R11); hardness and drop-test limits are what an inspection is judged by. Times in µs, temperatures in m°C."""

    code = models.CharField(max_length=24, unique=True)
    name = models.CharField(max_length=120)
    process = models.CharField(max_length=24, help_text="prepreg, wet layup, infusion, winding, press, assembly …")
    kind = models.CharField(max_length=10, default="part", choices=[("part", "part"), ("assembly", "assembly")])
    cure_min_mc = models.BigIntegerField(default=40_000)
    drop_limit_pa = models.BigIntegerField(null=True, blank=True, help_text="Largest pressure rise in the drop test, in Pa.")
    hardness_min = models.CharField(max_length=10, blank=True)
    cure_recipe = models.ForeignKey(
        "layups.CureRecipe",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="designs",
        help_text="What the chart of its cure is judged by. With one, no part goes out without a chart.",
    )
    active = models.BooleanField(default=True)
    # what goes beside the plies: shares in millionths, masses in µg
    loss_ppm = models.BigIntegerField(null=True, blank=True, help_text="Lost in cutting, of what comes off the roll.")
    resin_waste_ppm = models.BigIntegerField(null=True, blank=True, help_text="Left in cups, rollers and lines, of what is mixed.")
    resin_extra_ug = models.BigIntegerField(null=True, blank=True, help_text="Resin for more than fabric in one part: core, corners.")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=_below_all("loss_ppm") & _below_all("resin_waste_ppm"),
                name="design_losses_are_shares",
                violation_error_message="A loss is a share from 0 to below 100 per cent.",
            ),
            models.CheckConstraint(
                condition=models.Q(resin_extra_ug__isnull=True) | models.Q(resin_extra_ug__gte=0),
                name="design_extra_resin_not_below_zero",
                violation_error_message="Resin for more than fabric is not below zero.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"


class Ply(models.Model):
    """One line of the schedule: a ply, or a step that takes material (gelcoat, core, bond line, infusion, repair).
    `qty` is the amount per part in the material's stock unit; alternates are what the design allows instead (R22). `net_cmm2`
    is the area of the ply as it lies in the part; `wets` says that this line's resin wets the dry plies."""

    design = models.ForeignKey(Design, on_delete=models.PROTECT, related_name="plies")
    seq = models.IntegerField()
    step = models.CharField(max_length=16, default="ply")
    label = models.CharField(max_length=80, blank=True)
    material = models.ForeignKey(Material, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    recipe = models.ForeignKey("inventory.Recipe", null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    angle = models.IntegerField(null=True, blank=True, help_text="Degrees from the part's reference direction.")
    qty = models.BigIntegerField(null=True, blank=True)
    net_cmm2 = models.BigIntegerField(null=True, blank=True)
    loss_ppm = models.BigIntegerField(null=True, blank=True)
    wets = models.BooleanField(default=False)
    alternates = models.ManyToManyField(Material, blank=True, related_name="+")

    class Meta:
        verbose_name_plural = "plies"
        ordering = ["design", "seq"]
        constraints = [
            models.UniqueConstraint(fields=["design", "seq"], name="ply_seq_once"),
            models.UniqueConstraint(
                fields=["design"],
                condition=models.Q(wets=True),
                name="ply_wets_once",
                violation_error_message="One line's resin wets the plies.",
            ),
            models.CheckConstraint(
                condition=models.Q(angle__isnull=True) | models.Q(angle__gte=-90, angle__lte=90), name="ply_angle_in_range"
            ),
            models.CheckConstraint(
                condition=models.Q(material__isnull=False) | models.Q(recipe__isnull=False), name="ply_names_a_material_or_a_recipe"
            ),
            models.CheckConstraint(
                condition=(models.Q(net_cmm2__isnull=True) | models.Q(net_cmm2__gt=0)) & _below_all("loss_ppm"),
                name="ply_area_and_loss",
                violation_error_message="A ply's area is above zero; its loss is a share from 0 to below 100 per cent.",
            ),
            models.CheckConstraint(
                condition=models.Q(wets=False) | models.Q(recipe__isnull=False),
                name="ply_wets_with_a_recipe",
                violation_error_message="Only a line with a recipe wets the plies.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.design.code} {self.seq}"


class RoomLimit(models.Model):
    """What the room must be like while something is laid into a part of the design, or into one of its lines, whose own row
    then counts instead (R21). Temperatures in milli-°C, relative humidity in parts per million."""

    design = models.ForeignKey(Design, on_delete=models.PROTECT, related_name="rooms")
    line = models.ForeignKey(Ply, null=True, blank=True, on_delete=models.PROTECT, related_name="+", help_text="Empty: the whole design.")
    low_mc = models.BigIntegerField(null=True, blank=True)
    high_mc = models.BigIntegerField(null=True, blank=True)
    rh_low_ppm = models.BigIntegerField(null=True, blank=True)
    rh_high_ppm = models.BigIntegerField(null=True, blank=True)

    class Meta:
        ordering = ["design", "line__seq"]
        constraints = [
            models.UniqueConstraint(fields=["design"], condition=models.Q(line__isnull=True), name="room_once_per_design"),
            models.UniqueConstraint(fields=["line"], name="room_once_per_line"),
            models.CheckConstraint(
                condition=models.Q(low_mc__isnull=False)
                | models.Q(high_mc__isnull=False)
                | models.Q(rh_low_ppm__isnull=False)
                | models.Q(rh_high_ppm__isnull=False),
                name="room_asks_something",
                violation_error_message="Say what is asked of the room: a temperature, a humidity, or both.",
            ),
            models.CheckConstraint(
                condition=_ordered("low_mc", "high_mc"),
                name="room_temperatures_in_order",
                violation_error_message="The lowest temperature lies below the highest.",
            ),
            models.CheckConstraint(
                condition=_ordered("rh_low_ppm", "rh_high_ppm"),
                name="room_humidities_in_order",
                violation_error_message="The lowest humidity lies below the highest.",
            ),
            models.CheckConstraint(
                condition=_share("rh_low_ppm") & _share("rh_high_ppm"),
                name="room_humidity_is_a_share",
                violation_error_message="Relative humidity lies between 0 and 100 per cent.",
            ),
        ]

    def __str__(self) -> str:
        return self.design.code if self.line is None else str(self.line)

    def clean(self) -> None:
        if self.line is not None and self.line.design_id != self.design_id:
            raise ValidationError(gettext("Choose a line of this design's own schedule."))


class Window(models.Model):
    """How long after one thing the next may come: gelcoat and laminate, surface prepared and bonded (R23). Each end is a line
    of the design's schedule or a step by its name; times in µs. What a window says is copied into the records that it judges,
    so a change here speaks of what is still to come."""

    design = models.ForeignKey(Design, on_delete=models.PROTECT, related_name="windows")
    name = models.CharField(max_length=30, help_text="What people call it: gelcoat to laminate.")
    first_line = models.ForeignKey(
        Ply, null=True, blank=True, on_delete=models.PROTECT, related_name="+", help_text="Begins with this line…"
    )
    first_step = models.CharField(max_length=60, blank=True, help_text="…or with this step, for example: surface prepared.")
    then_line = models.ForeignKey(
        Ply, null=True, blank=True, on_delete=models.PROTECT, related_name="+", help_text="Closed by this line or one after it…"
    )
    then_step = models.CharField(max_length=60, blank=True, help_text="…or by this step; bagged, heating begins, cured are known too.")
    least_us = models.BigIntegerField(null=True, blank=True)
    most_us = models.BigIntegerField(null=True, blank=True)
    remedy = models.CharField(max_length=120, blank=True, help_text="What to do when it is over: abrade, then laminate.")
    again = models.CharField(max_length=60, blank=True, help_text="The step that says so was done; it begins the window anew: abraded.")

    class Meta:
        ordering = ["design", "name"]
        constraints = [
            models.UniqueConstraint(fields=["design", "name"], name="window_name_once"),
            models.CheckConstraint(condition=~models.Q(name=""), name="window_has_a_name"),
            models.CheckConstraint(
                condition=_one_of("first_line", "first_step"),
                name="window_begins_with_one_thing",
                violation_error_message="Say what begins the window: a line, or a step by its name, and not both.",
            ),
            models.CheckConstraint(
                condition=_one_of("then_line", "then_step"),
                name="window_is_closed_by_one_thing",
                violation_error_message="Say what closes the window: a line, or a step by its name, and not both.",
            ),
            models.CheckConstraint(
                condition=models.Q(least_us__isnull=False) | models.Q(most_us__isnull=False),
                name="window_states_a_time",
                violation_error_message="A window states a time: at least, at most, or both.",
            ),
            models.CheckConstraint(
                condition=models.Q(least_us__isnull=True) | models.Q(least_us__gt=0),
                name="window_least_above_zero",
                violation_error_message="The least time of a window is above zero, or empty.",
            ),
            models.CheckConstraint(
                condition=models.Q(most_us__isnull=True) | models.Q(most_us__gt=0),
                name="window_most_above_zero",
                violation_error_message="The most time of a window is above zero, or empty.",
            ),
            models.CheckConstraint(
                condition=models.Q(least_us__isnull=True) | models.Q(most_us__isnull=True) | models.Q(least_us__lt=models.F("most_us")),
                name="window_times_in_order",
                violation_error_message="The least time of a window is shorter than the most.",
            ),
            models.CheckConstraint(
                condition=models.Q(most_us__isnull=True) | (~models.Q(remedy="") & ~models.Q(again="")),
                name="window_says_what_to_do_when_over",
                violation_error_message="Say what to do when the window is over, and by which step that is recorded.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.design.code} {self.name}"

    def clean(self) -> None:
        """Lines are those of this design, and the second comes after the first."""
        lines = [line for line in (self.first_line, self.then_line) if line is not None]
        if any(line.design_id != self.design_id for line in lines):
            raise ValidationError(gettext("Choose lines of this design's own schedule."))
        if len(lines) == 2 and lines[0].seq >= lines[1].seq:
            raise ValidationError(gettext("The line that closes a window comes after the one that begins it."))
