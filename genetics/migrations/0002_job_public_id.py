import uuid

from django.db import migrations, models


def name_each_job(apps, schema_editor):
    """A job made before had no public id; each gets one of its own."""
    for job in apps.get_model("genetics", "Job").objects.all():
        job.public_id = uuid.uuid4()
        job.save(update_fields=["public_id"])


class Migration(migrations.Migration):
    dependencies = [("genetics", "0001_initial")]

    operations = [
        migrations.AddField(
            "job", "public_id", models.UUIDField(default=uuid.uuid4, editable=False, null=True)
        ),
        migrations.RunPython(name_each_job, migrations.RunPython.noop),
        migrations.AlterField(
            "job", "public_id", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)
        ),
    ]
