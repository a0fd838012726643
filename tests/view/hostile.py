"""Puts values into a site with a plan that a page must show and not obey.

    hostile.py SITE.gpkg
"""

import sqlite3
import sys

SCRIPT = "<img src=x onerror=\"window.obeyed=1\"></td></table></script><script>window.obeyed=1</script>"
TURNED = "\u202edrawkcab \u05d0\u05d1 株式会社"
VALUES = [
    ("bore_conflicts", "owner", SCRIPT, "kind = 'gas'"),
    ("bore_conflicts", "owner", "x" * 10_000, "kind = 'water'"),
    ("bore_conflicts", "owner", TURNED, "kind = 'telecom'"),
    ("bore_conflicts", "kind", "\" onload=\"window.obeyed=1", "fid = 3"),
    ("bore_conflicts", "bore_id", SCRIPT, "bore_id = 'LANE-B01'"),
    ("test_holes", "reason", "a\x01b</td></table><script>window.obeyed=1</script>", "1"),
    ("test_holes", "kind", SCRIPT, "1"),
    ("proposed_bores", "bore_id", SCRIPT, "bore_id = 'LANE-B01'"),
    ("proposed_bores", "notes", "--></style></main><script>window.obeyed=1</script>", "1"),
    ("proposed_pits", "street", "\" onfocus=\"window.obeyed=1\" autofocus=\"", "1"),
    ("proposed_pits", "role", "\"><script>window.obeyed=1</script>", "fid = 2"),
    ("streets", "name", SCRIPT, "fid = 1"),
    ("streets", "name", TURNED, "fid = 2"),
    ("gas_mains", "owner", SCRIPT, "1"),
    ("water_mains", "kind", "__proto__", "fid = 1"),
    ("power_cables", "owner", "x" * 10_000, "1"),
]


def main(path):
    db = sqlite3.connect(path)
    # Triggers of spatial indexes call functions that plain SQLite does not have.
    for (trigger,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        db.execute(f'DROP TRIGGER "{trigger}"')
    for table, column, value, rows in VALUES:
        changed = db.execute(f"UPDATE {table} SET {column} = ? WHERE {rows}", [value]).rowcount
        if changed < 1:
            sys.exit(f"no row of {table} to put a value of {column} into")
    db.commit()


if __name__ == "__main__":
    main(sys.argv[1])
