"""Changes of a count as they were told, each by its key."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0011_reading"),
    ]

    operations = [
        migrations.CreateModel(
            name="CountTold",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.UUIDField()),
                ("said", models.CharField(max_length=64)),
                ("sheet", models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name="+", to="inventory.countsheet")),
            ],
            options={
                "verbose_name": "change of a count",
                "verbose_name_plural": "changes of counts",
                "constraints": [models.UniqueConstraint(fields=("sheet", "key"), name="count_told_once")],
            },
        ),
    ]
