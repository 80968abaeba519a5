from django.db import migrations

OF_PART = {
    "flow meter": "METER",
    "catch of the tips": "CATCH",
    "cab against gauges": "PRESSURE",
    "ramp": "HOLDS",
}
OF_SOURCE = {"wheel sensor": "WHEEL", "ground radar": "RADAR", "GPS": "GPS"}
ORDER = ["WHEEL", "RADAR", "GPS", "METER", "CATCH", "PRESSURE", "HOLDS"]


def proofs_of(document, data):
    """As wetrun.shop.answers.run_proofs read a run when this was written: what passes, nothing of it failing."""
    told = {}
    course = document.get("course")
    sources = course.get("source", []) if isinstance(course, dict) else []
    kinds = {f"speed by {row.get('name', '')}": row.get("kind") for row in sources if isinstance(row, dict)}
    for line in data.get("tests", []):
        name = OF_PART.get(line["part"])
        if line["part"] == "speed course":
            name = OF_SOURCE.get(kinds.get(line["thing"]))
        if name and line["counts"]:
            told.setdefault(name, set()).add(line["verdict"])
    return [name for name in ORDER if "pass" in told.get(name, ()) and "fail" not in told[name]]


def fill(apps, schema_editor):
    runs = apps.get_model("records", "WetRun").objects.exclude(proven_at=None).exclude(in_us=None)
    for run in runs.only("pk", "document", "in_us").iterator(chunk_size=50):
        runs.filter(pk=run.pk).update(proofs=proofs_of(run.document, run.in_us))


class Migration(migrations.Migration):
    dependencies = [("records", "0002_what_happens_between")]
    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
