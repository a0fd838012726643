<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>
<qgis version="3.22" styleCategories="Symbology|Labeling" labelsEnabled="1">
  <renderer-v2 type="singleSymbol" symbollevels="0" enableorderby="0">
    <symbols>
      <symbol type="line" name="0" alpha="1" clip_to_extent="1" force_rhr="0">
        <layer class="SimpleLine" enabled="1" pass="0" locked="0"><Option type="Map"><Option type="QString" name="line_color" value="140,140,140,255"/><Option type="QString" name="line_width" value="0.4"/><Option type="QString" name="line_width_unit" value="MM"/><Option type="QString" name="line_style" value="solid"/><Option type="QString" name="capstyle" value="flat"/><Option type="QString" name="joinstyle" value="round"/><Option type="QString" name="use_custom_dash" value="1"/><Option type="QString" name="customdash" value="1.2;1"/><Option type="QString" name="customdash_unit" value="MM"/></Option></layer>
      </symbol>
    </symbols>
  </renderer-v2>
  <labeling type="simple">
    <settings>
      <text-style fieldName="'plan ' || &quot;alternative&quot;" isExpression="1" fontFamily="sans-serif" fontSize="7" fontSizeUnit="Point" fontWeight="50" textColor="140,140,140,255">
        <text-buffer bufferDraw="1" bufferSize="0.8" bufferSizeUnits="MM" bufferColor="255,255,255,230"/>
      </text-style>
      <placement placement="2" dist="1.5" distUnits="MM" placementFlags="10"/>
      <rendering scaleVisibility="1" scaleMin="0" scaleMax="1000" displayAll="0" drawLabels="1" obstacle="0"/>
    </settings>
  </labeling>
  <layerGeometryType>1</layerGeometryType>
</qgis>
