<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>
<qgis version="3.22" styleCategories="Symbology|Labeling" labelsEnabled="1">
  <renderer-v2 type="singleSymbol" symbollevels="0" enableorderby="0">
    <symbols>
      <symbol type="line" name="0" alpha="1" clip_to_extent="1" force_rhr="0">
        <layer class="SimpleLine" enabled="1" pass="0" locked="0"><Option type="Map"><Option type="QString" name="line_color" value="255,255,255,255"/><Option type="QString" name="line_width" value="1.4"/><Option type="QString" name="line_width_unit" value="MM"/><Option type="QString" name="line_style" value="solid"/><Option type="QString" name="capstyle" value="flat"/><Option type="QString" name="joinstyle" value="round"/></Option></layer>
        <layer class="SimpleLine" enabled="1" pass="0" locked="0"><Option type="Map"><Option type="QString" name="line_color" value="51,51,51,255"/><Option type="QString" name="line_width" value="0.7"/><Option type="QString" name="line_width_unit" value="MM"/><Option type="QString" name="line_style" value="solid"/><Option type="QString" name="capstyle" value="flat"/><Option type="QString" name="joinstyle" value="round"/></Option></layer>
        <layer class="MarkerLine" enabled="1" pass="0" locked="0"><Option type="Map"><Option type="QString" name="rotate" value="1"/><Option type="QString" name="placement" value="interval"/><Option type="QString" name="interval" value="18"/><Option type="QString" name="interval_unit" value="MM"/><Option type="QString" name="offset_along_line" value="9"/><Option type="QString" name="offset_along_line_unit" value="MM"/></Option><symbol type="marker" name="@0@2" alpha="1" clip_to_extent="1" force_rhr="0"><layer class="SimpleMarker" enabled="1" pass="0" locked="0"><Option type="Map"><Option type="QString" name="name" value="filled_arrowhead"/><Option type="QString" name="color" value="51,51,51,255"/><Option type="QString" name="outline_color" value="255,255,255,255"/><Option type="QString" name="outline_width" value="0.2"/><Option type="QString" name="outline_width_unit" value="MM"/><Option type="QString" name="outline_style" value="solid"/><Option type="QString" name="size" value="3.4"/><Option type="QString" name="size_unit" value="MM"/><Option type="QString" name="angle" value="0"/></Option></layer></symbol></layer>
      </symbol>
    </symbols>
  </renderer-v2>
  <labeling type="simple">
    <settings>
      <text-style fieldName="&quot;bore_id&quot; || '  ' || format_number(&quot;length_m&quot;, 1) || ' m\n' || coalesce('1:' || format_number(&quot;grade_1_in&quot;, 0), 'level') || '  cover ' || format_number(&quot;min_cover_m&quot;, 2) || ' m'" isExpression="1" fontFamily="sans-serif" fontSize="7" fontSizeUnit="Point" fontWeight="50" textColor="51,51,51,255">
        <text-buffer bufferDraw="1" bufferSize="0.8" bufferSizeUnits="MM" bufferColor="255,255,255,230"/>
      </text-style>
      <placement placement="2" dist="1.5" distUnits="MM" placementFlags="10" overrunDistance="40" overrunDistanceUnit="MM" priority="9"/>
      <rendering scaleVisibility="1" scaleMin="0" scaleMax="3000" displayAll="0" drawLabels="1" obstacle="0"/>
    </settings>
  </labeling>
  <layerGeometryType>1</layerGeometryType>
</qgis>
