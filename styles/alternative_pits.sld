<?xml version="1.0" encoding="UTF-8"?>
<StyledLayerDescriptor version="1.0.0"
    xmlns="http://www.opengis.net/sld" xmlns:ogc="http://www.opengis.net/ogc"
    xmlns:xlink="http://www.w3.org/1999/xlink" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"
    xsi:schemaLocation="http://www.opengis.net/sld http://schemas.opengis.net/sld/1.0.0/StyledLayerDescriptor.xsd">
  <NamedLayer>
    <Name>alternative_pits</Name>
    <UserStyle>
      <Title>Pits of the next cheapest plans</Title>
      <FeatureTypeStyle>
        <Rule>
          <Name>pit</Name>
          <Title>Pit of another plan: thin grey, dashed</Title>
          <PolygonSymbolizer>
            <Fill><CssParameter name="fill">#ffffff</CssParameter><CssParameter name="fill-opacity">0.0</CssParameter></Fill>
            <Stroke><CssParameter name="stroke">#8c8c8c</CssParameter><CssParameter name="stroke-width">1</CssParameter><CssParameter name="stroke-dasharray">4 3</CssParameter></Stroke>
          </PolygonSymbolizer>
        </Rule>
        <Rule>
          <Name>label</Name>
          <Title>Which plan</Title>
          <MaxScaleDenominator>1000</MaxScaleDenominator>
          <TextSymbolizer>
            <Label><ogc:PropertyName>alternative</ogc:PropertyName></Label>
            <Font><CssParameter name="font-family">sans-serif</CssParameter><CssParameter name="font-size">9</CssParameter><CssParameter name="font-weight">normal</CssParameter></Font>
            <LabelPlacement><PointPlacement><AnchorPoint><AnchorPointX>0.0</AnchorPointX><AnchorPointY>0.5</AnchorPointY></AnchorPoint><Displacement><DisplacementX>6</DisplacementX><DisplacementY>6</DisplacementY></Displacement></PointPlacement></LabelPlacement>
            <Halo><Radius>1.5</Radius><Fill><CssParameter name="fill">#ffffff</CssParameter></Fill></Halo>
            <Fill><CssParameter name="fill">#8c8c8c</CssParameter></Fill>
          </TextSymbolizer>
        </Rule>
      </FeatureTypeStyle>
    </UserStyle>
  </NamedLayer>
</StyledLayerDescriptor>
