<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>
<qgis version="3.22" styleCategories="Symbology|Labeling" labelsEnabled="1">
  <renderer-v2 type="categorizedSymbol" attr="role" symbollevels="0" enableorderby="0">
    <categories>
      <category symbol="0" value="launch" label="Launch pit" render="true"/>
      <category symbol="1" value="reception" label="Reception pit" render="true"/>
      <category symbol="2" value="both" label="Launch and reception pit" render="true"/>
      <category symbol="3" value="" label="Pit of another role" render="true"/>
    </categories>
    <symbols>
      <symbol type="fill" name="0" alpha="1" clip_to_extent="1" force_rhr="0">
        <layer class="SimpleFill" enabled="1" pass="0" locked="0"><Option type="Map"><Option type="QString" name="color" value="0,114,178,140"/><Option type="QString" name="style" value="solid"/><Option type="QString" name="outline_color" value="0,114,178,255"/><Option type="QString" name="outline_width" value="0.6"/><Option type="QString" name="outline_width_unit" value="MM"/><Option type="QString" name="outline_style" value="solid"/></Option></layer>
        <layer class="CentroidFill" enabled="1" pass="0" locked="0"><Option type="Map"><Option type="QString" name="point_on_surface" value="1"/></Option><symbol type="marker" name="@0@1" alpha="1" clip_to_extent="1" force_rhr="0"><layer class="SimpleMarker" enabled="1" pass="0" locked="0"><Option type="Map"><Option type="QString" name="name" value="triangle"/><Option type="QString" name="color" value="255,255,255,255"/><Option type="QString" name="outline_color" value="0,114,178,255"/><Option type="QString" name="outline_width" value="0.3"/><Option type="QString" name="outline_width_unit" value="MM"/><Option type="QString" name="outline_style" value="solid"/><Option type="QString" name="size" value="3"/><Option type="QString" name="size_unit" value="MM"/><Option type="QString" name="angle" value="0"/></Option></layer></symbol></layer>
      </symbol>
      <symbol type="fill" name="1" alpha="1" clip_to_extent="1" force_rhr="0">
        <layer class="SimpleFill" enabled="1" pass="0" locked="0"><Option type="Map"><Option type="QString" name="color" value="255,255,255,150"/><Option type="QString" name="style" value="solid"/><Option type="QString" name="outline_color" value="230,159,0,255"/><Option type="QString" name="outline_width" value="0.6"/><Option type="QString" name="outline_width_unit" value="MM"/><Option type="QString" name="outline_style" value="dash"/></Option></layer>
        <layer class="CentroidFill" enabled="1" pass="0" locked="0"><Option type="Map"><Option type="QString" name="point_on_surface" value="1"/></Option><symbol type="marker" name="@1@1" alpha="1" clip_to_extent="1" force_rhr="0"><layer class="SimpleMarker" enabled="1" pass="0" locked="0"><Option type="Map"><Option type="QString" name="name" value="circle"/><Option type="QString" name="color" value="230,159,0,255"/><Option type="QString" name="outline_color" value="51,51,51,255"/><Option type="QString" name="outline_width" value="0.3"/><Option type="QString" name="outline_width_unit" value="MM"/><Option type="QString" name="outline_style" value="solid"/><Option type="QString" name="size" value="2.4"/><Option type="QString" name="size_unit" value="MM"/><Option type="QString" name="angle" value="0"/></Option></layer></symbol></layer>
      </symbol>
      <symbol type="fill" name="2" alpha="1" clip_to_extent="1" force_rhr="0">
        <layer class="SimpleFill" enabled="1" pass="0" locked="0"><Option type="Map"><Option type="QString" name="color" value="0,158,115,115"/><Option type="QString" name="style" value="solid"/><Option type="QString" name="outline_color" value="0,158,115,255"/><Option type="QString" name="outline_width" value="0.6"/><Option type="QString" name="outline_width_unit" value="MM"/><Option type="QString" name="outline_style" value="dash dot"/></Option></layer>
        <layer class="CentroidFill" enabled="1" pass="0" locked="0"><Option type="Map"><Option type="QString" name="point_on_surface" value="1"/></Option><symbol type="marker" name="@2@1" alpha="1" clip_to_extent="1" force_rhr="0"><layer class="SimpleMarker" enabled="1" pass="0" locked="0"><Option type="Map"><Option type="QString" name="name" value="star"/><Option type="QString" name="color" value="255,255,255,255"/><Option type="QString" name="outline_color" value="0,158,115,255"/><Option type="QString" name="outline_width" value="0.3"/><Option type="QString" name="outline_width_unit" value="MM"/><Option type="QString" name="outline_style" value="solid"/><Option type="QString" name="size" value="3.6"/><Option type="QString" name="size_unit" value="MM"/><Option type="QString" name="angle" value="0"/></Option></layer></symbol></layer>
      </symbol>
      <symbol type="fill" name="3" alpha="1" clip_to_extent="1" force_rhr="0">
        <layer class="SimpleFill" enabled="1" pass="0" locked="0"><Option type="Map"><Option type="QString" name="color" value="140,140,140,75"/><Option type="QString" name="style" value="solid"/><Option type="QString" name="outline_color" value="140,140,140,255"/><Option type="QString" name="outline_width" value="0.3"/><Option type="QString" name="outline_width_unit" value="MM"/><Option type="QString" name="outline_style" value="solid"/></Option></layer>
      </symbol>
    </symbols>
  </renderer-v2>
  <labeling type="simple">
    <settings>
      <text-style fieldName="&quot;pit_id&quot; || '\n' || format_number(&quot;depth_m&quot;, 1) || ' m deep'" isExpression="1" fontFamily="sans-serif" fontSize="8" fontSizeUnit="Point" fontWeight="50" textColor="51,51,51,255">
        <text-buffer bufferDraw="1" bufferSize="0.8" bufferSizeUnits="MM" bufferColor="255,255,255,230"/>
      </text-style>
      <placement placement="0" dist="2" distUnits="MM"/>
      <rendering scaleVisibility="1" scaleMin="0" scaleMax="2000" displayAll="0" drawLabels="1" obstacle="0"/>
    </settings>
  </labeling>
  <layerGeometryType>2</layerGeometryType>
</qgis>
