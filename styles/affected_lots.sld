<?xml version="1.0" encoding="UTF-8"?>
<StyledLayerDescriptor version="1.0.0"
    xmlns="http://www.opengis.net/sld" xmlns:ogc="http://www.opengis.net/ogc"
    xmlns:xlink="http://www.w3.org/1999/xlink" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"
    xsi:schemaLocation="http://www.opengis.net/sld http://schemas.opengis.net/sld/1.0.0/StyledLayerDescriptor.xsd">
  <NamedLayer>
    <Name>affected_lots</Name>
    <UserStyle>
      <Title>Lots with a pit on them or a bore under them</Title>
      <FeatureTypeStyle>
        <Rule>
          <Name>bore-under</Name>
          <Title>Bore under the lot: outline alone, dashed</Title>
          <ogc:Filter><ogc:PropertyIsEqualTo><ogc:PropertyName>effect</ogc:PropertyName><ogc:Literal>bore-under</ogc:Literal></ogc:PropertyIsEqualTo></ogc:Filter>
          <PolygonSymbolizer>
            <Fill><CssParameter name="fill">#ffffff</CssParameter><CssParameter name="fill-opacity">0.0</CssParameter></Fill>
            <Stroke><CssParameter name="stroke">#56b4e9</CssParameter><CssParameter name="stroke-width">2</CssParameter><CssParameter name="stroke-dasharray">8 4</CssParameter></Stroke>
          </PolygonSymbolizer>
        </Rule>
        <Rule>
          <Name>pit</Name>
          <Title>Pit on the lot: tinted, full outline</Title>
          <ogc:Filter><ogc:PropertyIsEqualTo><ogc:PropertyName>effect</ogc:PropertyName><ogc:Literal>pit</ogc:Literal></ogc:PropertyIsEqualTo></ogc:Filter>
          <PolygonSymbolizer>
            <Fill><CssParameter name="fill">#56b4e9</CssParameter><CssParameter name="fill-opacity">0.25</CssParameter></Fill>
            <Stroke><CssParameter name="stroke">#56b4e9</CssParameter><CssParameter name="stroke-width">2</CssParameter></Stroke>
          </PolygonSymbolizer>
        </Rule>
        <Rule>
          <Name>other</Name>
          <Title>Another effect: grey outline</Title>
          <ogc:Filter><ogc:Or><ogc:PropertyIsNull><ogc:PropertyName>effect</ogc:PropertyName></ogc:PropertyIsNull><ogc:And><ogc:PropertyIsNotEqualTo><ogc:PropertyName>effect</ogc:PropertyName><ogc:Literal>pit</ogc:Literal></ogc:PropertyIsNotEqualTo><ogc:PropertyIsNotEqualTo><ogc:PropertyName>effect</ogc:PropertyName><ogc:Literal>bore-under</ogc:Literal></ogc:PropertyIsNotEqualTo></ogc:And></ogc:Or></ogc:Filter>
          <PolygonSymbolizer>
            <Fill><CssParameter name="fill">#ffffff</CssParameter><CssParameter name="fill-opacity">0.0</CssParameter></Fill>
            <Stroke><CssParameter name="stroke">#8c8c8c</CssParameter><CssParameter name="stroke-width">1</CssParameter></Stroke>
          </PolygonSymbolizer>
        </Rule>
        <Rule>
          <Name>label</Name>
          <Title>Lot</Title>
          <MaxScaleDenominator>2000</MaxScaleDenominator>
          <TextSymbolizer>
            <Label><ogc:PropertyName>lot_id</ogc:PropertyName></Label>
            <Font><CssParameter name="font-family">sans-serif</CssParameter><CssParameter name="font-size">9</CssParameter><CssParameter name="font-weight">normal</CssParameter></Font>
            <LabelPlacement><PointPlacement><AnchorPoint><AnchorPointX>0.5</AnchorPointX><AnchorPointY>0.5</AnchorPointY></AnchorPoint><Displacement><DisplacementX>0</DisplacementX><DisplacementY>0</DisplacementY></Displacement></PointPlacement></LabelPlacement>
            <Halo><Radius>1.5</Radius><Fill><CssParameter name="fill">#ffffff</CssParameter></Fill></Halo>
            <Fill><CssParameter name="fill">#333333</CssParameter></Fill>
          </TextSymbolizer>
        </Rule>
      </FeatureTypeStyle>
    </UserStyle>
  </NamedLayer>
</StyledLayerDescriptor>
