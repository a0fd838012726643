<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>
<qgis version="3.22" styleCategories="Symbology|Labeling" labelsEnabled="1">
  <renderer-v2 type="singleSymbol" symbollevels="0" enableorderby="0">
    <symbols>
      <symbol type="marker" name="0" alpha="1" clip_to_extent="1" force_rhr="0">
        <layer class="SimpleMarker" enabled="1" pass="0" locked="0"><Option type="Map"><Option type="QString" name="name" value="star"/><Option type="QString" name="color" value="0,158,115,255"/><Option type="QString" name="outline_color" value="51,51,51,255"/><Option type="QString" name="outline_width" value="0.3"/><Option type="QString" name="outline_width_unit" value="MM"/><Option type="QString" name="outline_style" value="solid"/><Option type="QString" name="size" value="4.6"/><Option type="QString" name="size_unit" value="MM"/><Option type="QString" name="angle" value="0"/></Option></layer>
      </symbol>
    </symbols>
  </renderer-v2>
  <labeling type="simple">
    <settings>
      <text-style fieldName="&quot;priority&quot; || ' look into ' || &quot;kind&quot;" isExpression="1" fontFamily="sans-serif" fontSize="6" fontSizeUnit="Point" fontWeight="50" textColor="51,51,51,255">
        <text-buffer bufferDraw="1" bufferSize="0.8" bufferSizeUnits="MM" bufferColor="255,255,255,230"/>
      </text-style>
      <placement placement="0" dist="2" distUnits="MM" priority="2"/>
      <rendering scaleVisibility="1" scaleMin="0" scaleMax="1000" displayAll="0" drawLabels="1" obstacle="0"/>
    </settings>
  </labeling>
  <layerGeometryType>0</layerGeometryType>
</qgis>
