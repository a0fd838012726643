<?xml version="1.0" encoding="UTF-8"?>
<StyledLayerDescriptor version="1.0.0"
    xmlns="http://www.opengis.net/sld" xmlns:ogc="http://www.opengis.net/ogc"
    xmlns:xlink="http://www.w3.org/1999/xlink" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"
    xsi:schemaLocation="http://www.opengis.net/sld http://schemas.opengis.net/sld/1.0.0/StyledLayerDescriptor.xsd">
  <NamedLayer>
    <Name>proposed_pits</Name>
    <UserStyle>
      <Title>Proposed pits by role</Title>
      <FeatureTypeStyle>
        <Rule>
          <Name>launch</Name>
          <Title>Launch pit: filled, triangle</Title>
          <ogc:Filter><ogc:PropertyIsEqualTo><ogc:PropertyName>role</ogc:PropertyName><ogc:Literal>launch</ogc:Literal></ogc:PropertyIsEqualTo></ogc:Filter>
          <PolygonSymbolizer>
            <Fill><CssParameter name="fill">#0072b2</CssParameter><CssParameter name="fill-opacity">0.55</CssParameter></Fill>
            <Stroke><CssParameter name="stroke">#0072b2</CssParameter><CssParameter name="stroke-width">2</CssParameter></Stroke>
          </PolygonSymbolizer>
          <PointSymbolizer>
            <Graphic><Mark><WellKnownName>triangle</WellKnownName><Fill><CssParameter name="fill">#ffffff</CssParameter></Fill><Stroke><CssParameter name="stroke">#0072b2</CssParameter><CssParameter name="stroke-width">1</CssParameter></Stroke></Mark><Size>10</Size></Graphic>
          </PointSymbolizer>
        </Rule>
        <Rule>
          <Name>reception</Name>
          <Title>Reception pit: open, dashed, circle</Title>
          <ogc:Filter><ogc:PropertyIsEqualTo><ogc:PropertyName>role</ogc:PropertyName><ogc:Literal>reception</ogc:Literal></ogc:PropertyIsEqualTo></ogc:Filter>
          <PolygonSymbolizer>
            <Fill><CssParameter name="fill">#ffffff</CssParameter><CssParameter name="fill-opacity">0.6</CssParameter></Fill>
            <Stroke><CssParameter name="stroke">#e69f00</CssParameter><CssParameter name="stroke-width">2</CssParameter><CssParameter name="stroke-dasharray">6 3</CssParameter></Stroke>
          </PolygonSymbolizer>
          <PointSymbolizer>
            <Graphic><Mark><WellKnownName>circle</WellKnownName><Fill><CssParameter name="fill">#e69f00</CssParameter></Fill><Stroke><CssParameter name="stroke">#333333</CssParameter><CssParameter name="stroke-width">1</CssParameter></Stroke></Mark><Size>8</Size></Graphic>
          </PointSymbolizer>
        </Rule>
        <Rule>
          <Name>both</Name>
          <Title>Launch and reception pit: filled, dashed, star</Title>
          <ogc:Filter><ogc:PropertyIsEqualTo><ogc:PropertyName>role</ogc:PropertyName><ogc:Literal>both</ogc:Literal></ogc:PropertyIsEqualTo></ogc:Filter>
          <PolygonSymbolizer>
            <Fill><CssParameter name="fill">#009e73</CssParameter><CssParameter name="fill-opacity">0.45</CssParameter></Fill>
            <Stroke><CssParameter name="stroke">#009e73</CssParameter><CssParameter name="stroke-width">2</CssParameter><CssParameter name="stroke-dasharray">10 3 2 3</CssParameter></Stroke>
          </PolygonSymbolizer>
          <PointSymbolizer>
            <Graphic><Mark><WellKnownName>star</WellKnownName><Fill><CssParameter name="fill">#ffffff</CssParameter></Fill><Stroke><CssParameter name="stroke">#009e73</CssParameter><CssParameter name="stroke-width">1</CssParameter></Stroke></Mark><Size>12</Size></Graphic>
          </PointSymbolizer>
        </Rule>
        <Rule>
          <Name>other</Name>
          <Title>Pit of another role: grey</Title>
          <ogc:Filter><ogc:Or><ogc:PropertyIsNull><ogc:PropertyName>role</ogc:PropertyName></ogc:PropertyIsNull><ogc:And><ogc:PropertyIsNotEqualTo><ogc:PropertyName>role</ogc:PropertyName><ogc:Literal>launch</ogc:Literal></ogc:PropertyIsNotEqualTo><ogc:PropertyIsNotEqualTo><ogc:PropertyName>role</ogc:PropertyName><ogc:Literal>reception</ogc:Literal></ogc:PropertyIsNotEqualTo><ogc:PropertyIsNotEqualTo><ogc:PropertyName>role</ogc:PropertyName><ogc:Literal>both</ogc:Literal></ogc:PropertyIsNotEqualTo></ogc:And></ogc:Or></ogc:Filter>
          <PolygonSymbolizer>
            <Fill><CssParameter name="fill">#8c8c8c</CssParameter><CssParameter name="fill-opacity">0.3</CssParameter></Fill>
            <Stroke><CssParameter name="stroke">#8c8c8c</CssParameter><CssParameter name="stroke-width">1</CssParameter></Stroke>
          </PolygonSymbolizer>
        </Rule>
        <Rule>
          <Name>label</Name>
          <Title>Pit and depth (m)</Title>
          <MaxScaleDenominator>2000</MaxScaleDenominator>
          <TextSymbolizer>
            <Label><ogc:PropertyName>pit_id</ogc:PropertyName> <ogc:Function name="numberFormat"><ogc:Literal>0.0</ogc:Literal><ogc:PropertyName>depth_m</ogc:PropertyName></ogc:Function> m deep</Label>
            <Font><CssParameter name="font-family">sans-serif</CssParameter><CssParameter name="font-size">10</CssParameter><CssParameter name="font-weight">normal</CssParameter></Font>
            <LabelPlacement><PointPlacement><AnchorPoint><AnchorPointX>0.0</AnchorPointX><AnchorPointY>0.5</AnchorPointY></AnchorPoint><Displacement><DisplacementX>10</DisplacementX><DisplacementY>8</DisplacementY></Displacement></PointPlacement></LabelPlacement>
            <Halo><Radius>1.5</Radius><Fill><CssParameter name="fill">#ffffff</CssParameter></Fill></Halo>
            <Fill><CssParameter name="fill">#333333</CssParameter></Fill>
          </TextSymbolizer>
        </Rule>
      </FeatureTypeStyle>
    </UserStyle>
  </NamedLayer>
</StyledLayerDescriptor>
