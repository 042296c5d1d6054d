from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('inventory', '0003_weave'),
    ]

    operations = [
        migrations.RemoveIndex(
            model_name='edge',
            name='edge_down',
        ),
        migrations.RemoveIndex(
            model_name='edge',
            name='edge_up',
        ),
        migrations.AddIndex(
            model_name='edge',
            index=models.Index(condition=models.Q(('void', False)), fields=['src', 'dst', 'happened_us', 'until_us', 'kind'], name='edge_down'),
        ),
        migrations.AddIndex(
            model_name='edge',
            index=models.Index(condition=models.Q(('void', False)), fields=['dst', 'src', 'happened_us', 'until_us', 'kind'], name='edge_up'),
        ),
    ]
