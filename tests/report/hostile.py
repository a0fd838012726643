"""Puts values into a result file that a page must show and not obey.

    hostile.py PLAN.gpkg
"""

import sqlite3
import sys

SCRIPT = "<img src=x onerror=\"window.obeyed=1\"></td></table><script>window.obeyed=1</script>"
VALUES = [
    ("bore_conflicts", "owner", SCRIPT, "kind = 'gas'"),
    ("bore_conflicts", "owner", "x" * 10_000, "kind = 'water'"),
    ("bore_conflicts", "owner", "\u202edrawkcab \u05d0\u05d1 株式会社", "kind = 'telecom'"),
    ("bore_conflicts", "conflict_id", "</title></svg><script>window.obeyed=1</script>", "fid = 2"),
    ("bore_conflicts", "rule", "\" onload=\"window.obeyed=1", "fid = 3"),
    ("test_holes", "reason", "a\x01b</td></table><script>window.obeyed=1</script>", "1"),
    ("proposed_bores", "notes", "--></style><script>window.obeyed=1</script>", "1"),
    ("proposed_pits", "street", "\" onfocus=\"window.obeyed=1\" autofocus=\"", "1"),
]


def main(path):
    db = sqlite3.connect(path)
    names = {row[0] for row in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    # Triggers of spatial indexes call functions that plain SQLite does not have.
    for (trigger,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        db.execute(f'DROP TRIGGER "{trigger}"')
    for table, column, value, rows in VALUES:
        if table in names:
            db.execute(f"UPDATE {table} SET {column} = ? WHERE {rows}", [value])
    db.commit()


if __name__ == "__main__":
    main(sys.argv[1])
