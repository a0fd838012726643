"""Holds every SLD of `styles/` against the schema of the Open Geospatial Consortium (SLD 1.0.0)."""

import pathlib
import sys

from lxml import etree

ROOT = pathlib.Path(__file__).resolve().parents[2]


def main():
    schema = etree.XMLSchema(etree.parse(ROOT / "tests/data/sld/sld/1.0.0/StyledLayerDescriptor.xsd"))
    files = sorted((ROOT / "styles").glob("*.sld"))
    faults = 0
    for file in files:
        if not schema.validate(etree.parse(file)):
            faults += 1
            print(f"{file.name}: {schema.error_log}")
    broken = etree.fromstring(files[0].read_bytes().replace(b"<UserStyle>", b"<UserStyle><Rule/>"))
    assert not schema.validate(broken), "the schema takes anything"
    for file in sorted((ROOT / "styles").glob("*.qml")):
        etree.parse(file)
    print(len(files), "SLD,", faults, "not valid")
    return bool(faults or not files)


if __name__ == "__main__":
    sys.exit(main())
