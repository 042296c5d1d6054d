"""What: suppliers, customers, materials with the properties their kind needs, life limits, recipes, required values.

Master data. Materials can be edited in the admin; a life specification cannot: it is versioned and a lot is bound to
the version that was in force when it arrived (R8), so that an edit never changes the past.
"""

from __future__ import annotations

from django.db import models

from inventory.core.said import say


class Supplier(models.Model):
    name = models.CharField(max_length=120, unique=True)

    def __str__(self) -> str:
        return self.name


class Customer(models.Model):
    name = models.CharField(max_length=120, unique=True)

    def __str__(self) -> str:
        return self.name


class MaterialKind(models.TextChoices):
    FABRIC = "fabric", say("Dry fabric")
    UD = "ud", say("Unidirectional (dry)")
    MAT = "mat", say("Mat")
    TOW = "tow", say("Tow or roving")
    PREPREG = "prepreg", say("Prepreg")
    RESIN = "resin", say("Resin")
    HARDENER = "hardener", say("Hardener")
    PEROXIDE = "peroxide", say("Organic peroxide (initiator)")
    PROMOTER = "promoter", say("Promoter or accelerator")
    GELCOAT = "gelcoat", say("Gelcoat")
    ADDITIVE = "additive", say("Filler, pigment or other additive")
    THERMOPLASTIC = "thermoplastic", say("Thermoplastic (pellet, film, tape, tow)")
    FILM = "film", say("Film adhesive")
    PASTE = "paste", say("Paste adhesive")
    CORE = "core", say("Core")
    CONSUMABLE = "consumable", say("Process consumable")


class Weave(models.TextChoices):
    """How the fibres of a sheet run: what a laminate's directions are computed from."""

    UD = "ud", say("Unidirectional")
    PLAIN = "plain", say("Plain weave")
    TWILL = "twill", say("Twill")
    SATIN = "satin", say("Satin")
    BIAXIAL = "biaxial", say("Biaxial, stitched")
    MAT = "mat", say("Random mat")


class Unit(models.TextChoices):
    LENGTH = "um", say("length (µm)")
    AREA = "cmm2", say("area (0.01 mm²)")
    MASS = "ug", say("mass (µg)")
    COUNT = "pc", say("pieces")


SHEET_KINDS = ["fabric", "ud", "mat"]
_has = models.Q


def _above(field: str, floor: object = 0) -> models.Q:
    """The field is there and above the floor. A condition that compares with NULL is neither true nor false, and a database
    lets such a row pass."""
    return models.Q(**{f"{field}__isnull": False, f"{field}__gt": floor})


THREADS = ("filaments", "filament_nm", "fibre_mg_cm3", "ends_per_m", "picks_per_m", "fill_tex_ug_m")


def _none_or_above(*fields: str) -> models.Q:
    """Each field is empty or above zero."""
    found = models.Q()
    for field in fields:
        found &= models.Q(**{f"{field}__isnull": True}) | models.Q(**{f"{field}__gt": 0})
    return found


class Material(models.Model):
    """A purchased or made substance with a specification (domain §2). Lengths in µm, masses in µg, temperatures in
    milli-°C, areal weight in mg/m², linear density in µg/m, density in mg/cm³, times in µs."""

    code = models.CharField(max_length=24, unique=True)
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=16, choices=MaterialKind.choices)
    unit = models.CharField(max_length=4, choices=Unit.choices, help_text="The unit that stock is kept in.")
    supplier = models.ForeignKey(Supplier, null=True, blank=True, on_delete=models.PROTECT, related_name="materials")
    # geometry and mass: what a conversion needs, R1
    width_um = models.BigIntegerField(null=True, blank=True)
    weave = models.CharField(
        max_length=10,
        blank=True,
        choices=Weave.choices,
        help_text="How the fibres run; a ply's angle is that of one of its yarn directions.",
    )
    usable_width_um = models.BigIntegerField(null=True, blank=True)
    areal_mg_m2 = models.BigIntegerField(null=True, blank=True)
    tex_ug_m = models.BigIntegerField(null=True, blank=True)
    density_mg_cm3 = models.BigIntegerField(null=True, blank=True)
    thickness_um = models.BigIntegerField(null=True, blank=True)
    sheet_length_um = models.BigIntegerField(null=True, blank=True)
    # threads, to see whether a certificate's figure can be
    filaments = models.BigIntegerField(null=True, blank=True, help_text="Of a tow or yarn: 3000 for 3K.")
    filament_nm = models.BigIntegerField(null=True, blank=True, verbose_name="filament diameter, nm", help_text="7000 for 7 µm.")
    fibre_mg_cm3 = models.BigIntegerField(
        null=True, blank=True, verbose_name="density of the fibre, mg/cm³", help_text="Of the fibre alone: 1790 for 1.79 g/cm³."
    )
    ends_per_m = models.BigIntegerField(null=True, blank=True, verbose_name="ends a metre", help_text="510 for 5.1 per cm.")
    picks_per_m = models.BigIntegerField(null=True, blank=True, verbose_name="picks a metre", help_text="Empty for a unidirectional.")
    fill_tex_ug_m = models.BigIntegerField(
        null=True, blank=True, verbose_name="linear density of a pick, µg/m", help_text="When it is not that of an end: 200000 for 200 tex."
    )
    # storage, R35, and thaw, R15
    hazard = models.CharField(max_length=16, blank=True, help_text="peroxide, promoter, amine, acid, isocyanate or empty.")
    min_store_mc = models.BigIntegerField(null=True, blank=True)
    max_store_mc = models.BigIntegerField(null=True, blank=True)
    declared_mc = models.BigIntegerField(default=25_000, help_text="Storage before receipt, as the supplier declares it.")
    thaw_roll_us = models.BigIntegerField(default=0, help_text="0: not kept frozen.")
    thaw_piece_us = models.BigIntegerField(default=0)
    sds_url = models.CharField(max_length=200, blank=True)
    # compatibility, R40, and trace grade, R39
    family = models.CharField(max_length=24, blank=True, help_text="Resin family: epoxy, vinylester, polyester, …")
    suits = models.CharField(max_length=120, blank=True, help_text="Resin families that binder and sizing suit; empty: not stated.")
    grade = models.CharField(
        max_length=4, default="item", choices=[("item", "each piece"), ("lot", "by lot"), ("box", "by box, booked to a bay")]
    )
    # how much of it reacts, R17: to see whether a ratio is plausible
    eew_mg_mol = models.BigIntegerField(
        null=True, blank=True, verbose_name="EEW, mg/mol", help_text="Grams per mole of epoxide, times 1000: 190000 for 190 g/mol."
    )
    ahew_mg_mol = models.BigIntegerField(
        null=True, blank=True, verbose_name="AHEW, mg/mol", help_text="Grams per mole of active hydrogen, times 1000."
    )
    # ageing weighted by temperature: for information beside the clocks that count
    ageing_j_mol = models.BigIntegerField(
        null=True,
        blank=True,
        verbose_name="ageing energy, J/mol",
        help_text="The activation energy of this material's ageing, from its supplier or from tests of your own. Leave it empty when "
        "nobody has stated one: none is published for prepreg, and 83 144 J/mol is a convention for medicines. It only informs.",
    )
    ageing_ref_mc = models.BigIntegerField(
        null=True,
        blank=True,
        verbose_name="ageing reference, milli-°C",
        help_text="The temperature that the equivalent life is stated at, such as 23000.",
    )
    # planning, R38
    reorder_at = models.BigIntegerField(null=True, blank=True)
    needs_certificate = models.BooleanField(default=False)
    notes = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(kind__in=MaterialKind.values), name="material_kind_known"),
            models.CheckConstraint(condition=models.Q(unit__in=Unit.values), name="material_unit_known"),
            models.CheckConstraint(condition=models.Q(weave__in=["", *Weave.values]), name="material_weave_known"),
            models.CheckConstraint(condition=_none_or_above(*THREADS), name="material_threads_above_zero"),
            models.CheckConstraint(
                condition=~_has(kind__in=SHEET_KINDS) | (_above("width_um") & _above("areal_mg_m2")),
                name="fabric_has_width_and_areal_weight",
            ),
            models.CheckConstraint(condition=~_has(kind="tow") | _above("tex_ug_m"), name="tow_has_linear_density"),
            models.CheckConstraint(
                condition=~_has(kind="prepreg") | _above("tex_ug_m") | (_above("width_um") & _above("areal_mg_m2")),
                name="prepreg_has_width_and_areal_weight",
            ),
            models.CheckConstraint(
                condition=~_has(kind__in=["resin", "hardener", "peroxide", "promoter", "gelcoat"]) | _has(unit="ug"),
                name="liquids_are_kept_by_mass",
            ),
            models.CheckConstraint(condition=~_has(kind="peroxide") | _has(hazard="peroxide"), name="peroxide_says_so"),
            models.CheckConstraint(
                condition=_has(usable_width_um__isnull=True) | _has(width_um__isnull=False, usable_width_um__lte=models.F("width_um")),
                name="usable_width_within_width",
            ),
            models.CheckConstraint(condition=_has(grade__in=["item", "lot", "box"]), name="material_grade_known"),
            models.CheckConstraint(
                condition=_has(ageing_j_mol__isnull=True, ageing_ref_mc__isnull=True)
                | _has(
                    ageing_j_mol__isnull=False,
                    ageing_j_mol__gte=10_000,
                    ageing_j_mol__lte=300_000,
                    ageing_ref_mc__isnull=False,
                    ageing_ref_mc__gte=-100_000,
                    ageing_ref_mc__lte=100_000,
                ),
                name="ageing_has_energy_and_reference",
            ),
            models.CheckConstraint(
                condition=(_has(eew_mg_mol__isnull=True) | _above("eew_mg_mol")) & (_has(ahew_mg_mol__isnull=True) | _above("ahew_mg_mol")),
                name="equivalent_weights_above_zero",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"


class LifeSpec(models.Model):
    """One version of a material's life limits. Insert-only: a change is a new version, which new lots are bound to."""

    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="life_specs")
    version = models.IntegerField()
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["material", "version"], name="life_spec_version_once")]

    def __str__(self) -> str:
        return f"{self.material.code} v{self.version}"


class Clock(models.TextChoices):
    PRINTED = "printed", say("printed date")
    CALENDAR = "calendar", say("calendar since manufacture")
    RECEIVED = "received", say("calendar since receipt")
    OPENED = "opened", say("calendar since first opened")
    ABOVE = "above", say("time above a temperature")
    FRACTION = "fraction", say("fractions over storage temperatures")
    CYCLES = "cycles", say("times thawed")
    HEATS = "heats", say("times melted")
    MOISTURE = "moisture", say("time in the open after drying")


class Checkpoint(models.TextChoices):
    MIXED = "mixed", say("when mixed")
    LAID = "laid", say("when laid")
    BAGGED = "bagged", say("when bagged")
    CURE = "cure", say("at the start of cure")
    USED = "used", say("when used")


class LifeLimit(models.Model):
    """A clock, a limit and the checkpoint where it is judged (R8). Insert-only.

    `months` for calendar clocks, `limit_us` for hours, `limit_n` for counts, `fractions` ("10000:P3M 25000:P28D") for
    the one clock that adds fractions (R9). `ladder` is what a retest may extend by, in months, then it is discarded
    ("3 1"); `unopened_only` says whether an opened piece may be extended at all (R14)."""

    spec = models.ForeignKey(LifeSpec, on_delete=models.PROTECT, related_name="limits")
    name = models.CharField(max_length=40)
    clock = models.CharField(max_length=12, choices=Clock.choices)
    checkpoint = models.CharField(max_length=8, choices=Checkpoint.choices)
    months = models.IntegerField(null=True, blank=True)
    limit_us = models.BigIntegerField(null=True, blank=True)
    limit_n = models.IntegerField(null=True, blank=True)
    threshold_mc = models.BigIntegerField(null=True, blank=True)
    fractions = models.CharField(max_length=120, blank=True)
    ladder = models.CharField(max_length=40, blank=True)
    unopened_only = models.BooleanField(default=True)
    evidence = models.CharField(max_length=80, blank=True, help_text="What a retest must show, for example: lap shear, MPa.")
    evidence_min = models.CharField(max_length=20, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["spec", "name"], name="life_limit_name_once"),
            models.CheckConstraint(condition=_has(clock__in=Clock.values), name="life_clock_known"),
            models.CheckConstraint(condition=_has(checkpoint__in=Checkpoint.values), name="life_checkpoint_known"),
            models.CheckConstraint(
                condition=(
                    _has(clock="printed")
                    | (_has(clock__in=["calendar", "received", "opened"]) & (_above("months") | _above("limit_us")))
                    | (_has(clock="above") & _above("limit_us") & _has(threshold_mc__isnull=False))
                    | (_has(clock="moisture") & _above("limit_us"))
                    | (_has(clock__in=["cycles", "heats"]) & _above("limit_n"))
                    | (_has(clock="fraction") & ~_has(fractions=""))
                ),
                name="life_limit_has_what_its_clock_needs",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} ({self.clock})"


class CertLimit(models.Model):
    """A value that a delivery's papers must state, with limits as decimal text; per lot or for each roll (R6)."""

    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="cert_limits")
    name = models.CharField(max_length=60)
    unit = models.CharField(max_length=20, blank=True)
    low = models.CharField(max_length=24, blank=True)
    high = models.CharField(max_length=24, blank=True)
    per_item = models.BooleanField(default=False)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["material", "name"], name="cert_limit_once")]

    def __str__(self) -> str:
        return f"{self.material.code} {self.name}"


class Recipe(models.Model):
    """A resin system: how much hardener or peroxide per base resin, in parts per million by mass, and its pot life as
    the data sheet states it (R17, R18). `never_ppm` is the gross overdose that nobody may override."""

    code = models.CharField(max_length=24, unique=True)
    name = models.CharField(max_length=120)
    kind = models.CharField(
        max_length=10, choices=[("amine", "amine-cured epoxy"), ("peroxide", "started by peroxide"), ("other", "other")]
    )
    resin = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="recipes_as_resin")
    hardener = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="recipes_as_hardener")
    low_ppm = models.BigIntegerField()
    target_ppm = models.BigIntegerField()
    high_ppm = models.BigIntegerField()
    never_ppm = models.BigIntegerField(null=True, blank=True)
    min_temp_mc = models.BigIntegerField(null=True, blank=True)
    max_temp_mc = models.BigIntegerField(null=True, blank=True)
    pot_us = models.BigIntegerField(null=True, blank=True)
    pot_mass_ug = models.BigIntegerField(null=True, blank=True)
    pot_temp_mc = models.BigIntegerField(null=True, blank=True)
    pot_method = models.CharField(max_length=120, blank=True)
    gel_points = models.TextField(blank=True, help_text="Peroxide systems, one a line: temperature °C, dose %, gel minutes.")
    ready_us = models.BigIntegerField(
        null=True, blank=True, verbose_name="ready after, µs", help_text="Stirring and any induction time, counted from first mixing."
    )
    open_us = models.BigIntegerField(
        null=True, blank=True, verbose_name="open time on the laminate, µs", help_text="As the data sheet states it for a thin film."
    )
    open_temp_mc = models.BigIntegerField(null=True, blank=True, verbose_name="open time holds at, m°C")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=_has(low_ppm__gt=0) & _has(low_ppm__lte=models.F("target_ppm")) & _has(target_ppm__lte=models.F("high_ppm")),
                name="recipe_limits_in_order",
            ),
            models.CheckConstraint(condition=~_has(kind="peroxide") | _above("never_ppm", models.F("high_ppm")), name="peroxide_has_a_cap"),
            models.CheckConstraint(condition=_has(ready_us__isnull=True) | _has(ready_us__gte=0), name="recipe_ready_not_before_mixing"),
            models.CheckConstraint(
                condition=_has(open_us__isnull=True, open_temp_mc__isnull=True) | (_above("open_us") & _has(open_temp_mc__isnull=False)),
                name="recipe_open_time_has_its_temperature",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"


class RecipeAdditive(models.Model):
    """A filler, pigment or additive that the recipe allows, added before the hardener; not base resin (R17)."""

    recipe = models.ForeignKey(Recipe, on_delete=models.PROTECT, related_name="additives")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="+")
    max_ppm = models.BigIntegerField()
    place = models.IntegerField(default=1, help_text="Order of addition; the resin is 0, the hardener comes last.")
