"""How somebody reads: their language, and their units."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0010_counts"),
    ]

    operations = [
        migrations.AddField(
            model_name="person",
            name="language",
            field=models.CharField(
                blank=True,
                choices=[("", "as the browser says"), ("en", "English"), ("de", "Deutsch")],
                default="",
                help_text="Of the pages that they read.",
                max_length=2,
            ),
        ),
        migrations.AddField(
            model_name="person",
            name="units",
            field=models.CharField(
                choices=[("metric", "metric: metres, kilograms, °C"), ("us", "US: yards, pounds, °F")],
                default="metric",
                help_text="In which pages show measures to them.",
                max_length=6,
            ),
        ),
        migrations.AddConstraint(
            model_name="person",
            constraint=models.CheckConstraint(condition=models.Q(("language__in", ["", "en", "de"])), name="person_language_known"),
        ),
        migrations.AddConstraint(
            model_name="person",
            constraint=models.CheckConstraint(condition=models.Q(("units__in", ["metric", "us"])), name="person_units_known"),
        ),
    ]
