<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>
<qgis version="3.22" styleCategories="Symbology|Labeling" labelsEnabled="1">
  <renderer-v2 type="categorizedSymbol" attr="effect" symbollevels="0" enableorderby="0">
    <categories>
      <category symbol="0" value="bore-under" label="Bore under the lot" render="true"/>
      <category symbol="1" value="pit" label="Pit on the lot" render="true"/>
      <category symbol="2" value="" label="Another effect" render="true"/>
    </categories>
    <symbols>
      <symbol type="fill" name="0" alpha="1" clip_to_extent="1" force_rhr="0">
        <layer class="SimpleFill" enabled="1" pass="0" locked="0"><Option type="Map"><Option type="QString" name="color" value="255,255,255,0"/><Option type="QString" name="style" value="no"/><Option type="QString" name="outline_color" value="86,180,233,255"/><Option type="QString" name="outline_width" value="0.5"/><Option type="QString" name="outline_width_unit" value="MM"/><Option type="QString" name="outline_style" value="dash"/></Option></layer>
      </symbol>
      <symbol type="fill" name="1" alpha="1" clip_to_extent="1" force_rhr="0">
        <layer class="SimpleFill" enabled="1" pass="0" locked="0"><Option type="Map"><Option type="QString" name="color" value="86,180,233,60"/><Option type="QString" name="style" value="solid"/><Option type="QString" name="outline_color" value="86,180,233,255"/><Option type="QString" name="outline_width" value="0.5"/><Option type="QString" name="outline_width_unit" value="MM"/><Option type="QString" name="outline_style" value="solid"/></Option></layer>
      </symbol>
      <symbol type="fill" name="2" alpha="1" clip_to_extent="1" force_rhr="0">
        <layer class="SimpleFill" enabled="1" pass="0" locked="0"><Option type="Map"><Option type="QString" name="color" value="255,255,255,0"/><Option type="QString" name="style" value="no"/><Option type="QString" name="outline_color" value="140,140,140,255"/><Option type="QString" name="outline_width" value="0.3"/><Option type="QString" name="outline_width_unit" value="MM"/><Option type="QString" name="outline_style" value="solid"/></Option></layer>
      </symbol>
    </symbols>
  </renderer-v2>
  <labeling type="simple">
    <settings>
      <text-style fieldName="&quot;lot_id&quot;" isExpression="1" fontFamily="sans-serif" fontSize="7" fontSizeUnit="Point" fontWeight="50" textColor="51,51,51,255">
        <text-buffer bufferDraw="1" bufferSize="0.8" bufferSizeUnits="MM" bufferColor="255,255,255,230"/>
      </text-style>
      <placement placement="1" quadOffset="4" offsetType="0"/>
      <rendering scaleVisibility="1" scaleMin="0" scaleMax="2000" displayAll="0" drawLabels="1" obstacle="0"/>
    </settings>
  </labeling>
  <layerGeometryType>2</layerGeometryType>
</qgis>
