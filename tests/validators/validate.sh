#!/bin/sh
# Validates GeoPackages: validate.sh FILE...
# 0 every validator at hand accepts every file · 1 one does not · 77 no validator at hand
#
# GDAL_PYTHON  a Python that has GDAL's bindings (default /usr/bin/python3)
# GDAL_UTILS   the folder that holds osgeo_utils of the newest gdal-utils (default: where python3 finds it)
# PDOK         the folder that pdok-geopackage-validator was installed into (pip install --target), if any
set -u
# All but RQ22 (only the CRSs that one country's publisher takes) and RC19 (would rather have no Z; we want it).
pdok_rules=RQ1,RQ2,RQ4,RQ6,RQ7,RQ9,RQ10,RQ11,RQ13,RQ14,RQ15,RQ21,RQ23,RQ24,RQ26,RC17,RC18,RC20,RC25
python=${GDAL_PYTHON:-/usr/bin/python3}
"$python" -c 'from osgeo import ogr' 2>/dev/null || { echo "no Python with GDAL: $python"; exit 77; }

where='import os, osgeo_utils.samples.validate_gpkg as v; print(os.path.dirname(os.path.dirname(os.path.dirname(v.__file__))))'
old=$("$python" -c "$where" 2>/dev/null)
new=${GDAL_UTILS:-$(python3 -c "$where" 2>/dev/null)}
lone=$(mktemp -d) # only osgeo_utils, so that nothing else of its folder is taken
trap 'rm -rf "$lone"' EXIT
ran=0
bad=0

# validate NAME FOLDER FILE
validate() {
    rm -f "$lone/osgeo_utils"
    ln -s "$2/osgeo_utils" "$lone/osgeo_utils"
    if said=$(PYTHONPATH=$lone "$python" -m osgeo_utils.samples.validate_gpkg -k --extra "$3" 2>&1); then
        echo "$1: valid: $3"
    else
        bad=1
        echo "$1: NOT valid: $3"
        echo "$said"
    fi
    ran=1
}

for file in "$@"; do
    [ -n "$old" ] && validate "validate_gpkg of the system" "$old" "$file"
    [ -n "$new" ] && [ "$new" != "$old" ] && validate "validate_gpkg of $new" "$new" "$file"
    if [ -n "${PDOK:-}" ]; then
        if said=$(PYTHONPATH=$PDOK "$python" -c 'from geopackage_validator.cli import cli; cli()' \
            validate --gpkg-path "$file" --validations "$pdok_rules" --exit-on-fail 2>&1); then
            echo "pdok-geopackage-validator: valid: $file"
        else
            bad=1
            echo "pdok-geopackage-validator: NOT valid: $file"
            echo "$said"
        fi
        ran=1
    fi
done
[ $ran = 1 ] || { echo "no validator at hand"; exit 77; }
exit $bad
