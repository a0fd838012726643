<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>
<qgis version="3.22" styleCategories="Symbology|Labeling" labelsEnabled="1">
  <renderer-v2 type="categorizedSymbol" attr="why" symbollevels="0" enableorderby="0">
    <categories>
      <category symbol="0" value="gap" label="No pits bridge it, whatever the levels" render="true"/>
      <category symbol="1" value="levels" label="No levels keep all rules" render="true"/>
      <category symbol="2" value="" label="For another reason" render="true"/>
    </categories>
    <symbols>
      <symbol type="line" name="0" alpha="1" clip_to_extent="1" force_rhr="0">
        <layer class="SimpleLine" enabled="1" pass="0" locked="0"><Option type="Map"><Option type="QString" name="line_color" value="213,94,0,255"/><Option type="QString" name="line_width" value="1.8"/><Option type="QString" name="line_width_unit" value="MM"/><Option type="QString" name="line_style" value="solid"/><Option type="QString" name="capstyle" value="flat"/><Option type="QString" name="joinstyle" value="round"/><Option type="QString" name="use_custom_dash" value="1"/><Option type="QString" name="customdash" value="4;2"/><Option type="QString" name="customdash_unit" value="MM"/></Option></layer>
      </symbol>
      <symbol type="line" name="1" alpha="1" clip_to_extent="1" force_rhr="0">
        <layer class="SimpleLine" enabled="1" pass="0" locked="0"><Option type="Map"><Option type="QString" name="line_color" value="204,121,167,255"/><Option type="QString" name="line_width" value="1.8"/><Option type="QString" name="line_width_unit" value="MM"/><Option type="QString" name="line_style" value="solid"/><Option type="QString" name="capstyle" value="flat"/><Option type="QString" name="joinstyle" value="round"/><Option type="QString" name="use_custom_dash" value="1"/><Option type="QString" name="customdash" value="0.8;1.6"/><Option type="QString" name="customdash_unit" value="MM"/></Option></layer>
      </symbol>
      <symbol type="line" name="2" alpha="1" clip_to_extent="1" force_rhr="0">
        <layer class="SimpleLine" enabled="1" pass="0" locked="0"><Option type="Map"><Option type="QString" name="line_color" value="140,140,140,255"/><Option type="QString" name="line_width" value="1.8"/><Option type="QString" name="line_width_unit" value="MM"/><Option type="QString" name="line_style" value="solid"/><Option type="QString" name="capstyle" value="flat"/><Option type="QString" name="joinstyle" value="round"/></Option></layer>
      </symbol>
    </symbols>
  </renderer-v2>
  <labeling type="simple">
    <settings>
      <text-style fieldName="&quot;remedies&quot;" isExpression="1" fontFamily="sans-serif" fontSize="7" fontSizeUnit="Point" fontWeight="50" textColor="51,51,51,255">
        <text-buffer bufferDraw="1" bufferSize="0.8" bufferSizeUnits="MM" bufferColor="255,255,255,230"/>
      </text-style>
      <placement placement="2" dist="1.5" distUnits="MM" placementFlags="10"/>
      <rendering scaleVisibility="1" scaleMin="0" scaleMax="2000" displayAll="0" drawLabels="1" obstacle="0"/>
    </settings>
  </labeling>
  <layerGeometryType>1</layerGeometryType>
</qgis>
