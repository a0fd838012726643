"""Draws a planned file as an open desktop viewer opens it, by the styles that lie in the file.

    render.py PLAN.gpkg PICTURE.png [SITE.gpkg] [WEST SOUTH EAST NORTH]     needs that viewer's Python (python3-qgis), no screen

Says for each layer whether a style was applied on opening. Not part of the tests: the viewer is too large to install for them.
"""

import os
import sys

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from qgis.core import (  # noqa: E402
    QgsApplication,
    QgsMapRendererParallelJob,
    QgsMapSettings,
    QgsRectangle,
    QgsVectorLayer,
)
from qgis.PyQt.QtCore import QSize  # noqa: E402
from qgis.PyQt.QtGui import QColor  # noqa: E402

# From top to bottom.
PLAN = [
    "test_holes",
    "bore_conflicts",
    "proposed_pits",
    "proposed_bores",
    "route_blockers",
    "alternative_pits",
    "alternative_bores",
    "affected_lots",
]
SITE = ["buildings", "lots", "streets"]


def main(plan, picture, site=None, *box):
    app = QgsApplication([], False)
    app.initQgis()
    layers = [opened(plan, name) for name in PLAN]
    for layer in layers:
        _, applied = layer.loadDefaultStyle()
        print(layer.name(), layer.renderer().type(), "styled" if applied else "NOT STYLED", "labels" if layer.labeling() else "no labels")
    ground = [opened(site, name) for name in SITE] if site else []
    for layer in ground:
        symbol = layer.renderer().symbol()
        symbol.setColor(QColor(225, 225, 225) if layer.name() == "buildings" else QColor(250, 250, 248))
    settings = QgsMapSettings()
    settings.setLayers(layers + ground)
    settings.setBackgroundColor(QColor("white"))
    settings.setDestinationCrs(layers[0].crs())
    settings.setOutputDpi(144)
    settings.setOutputSize(QSize(1600, 1100))
    whole = layers[2].extent()
    whole.grow(8)
    settings.setExtent(QgsRectangle(*map(float, box)) if box else whole)
    print("scale 1:%.0f" % settings.scale())
    job = QgsMapRendererParallelJob(settings)
    job.start()
    job.waitForFinished()
    assert job.renderedImage().save(picture)
    app.exitQgis()


def opened(file, name):
    layer = QgsVectorLayer(f"{file}|layername={name}", name, "ogr")
    assert layer.isValid(), name
    return layer


if __name__ == "__main__":
    main(*sys.argv[1:])
