<?xml version="1.0" encoding="UTF-8"?>
<StyledLayerDescriptor version="1.0.0"
    xmlns="http://www.opengis.net/sld" xmlns:ogc="http://www.opengis.net/ogc"
    xmlns:xlink="http://www.w3.org/1999/xlink" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"
    xsi:schemaLocation="http://www.opengis.net/sld http://schemas.opengis.net/sld/1.0.0/StyledLayerDescriptor.xsd">
  <NamedLayer>
    <Name>route_blockers</Name>
    <UserStyle>
      <Title>Stretches of routes that no lawful pits bridge</Title>
      <FeatureTypeStyle>
        <Rule>
          <Name>gap</Name>
          <Title>Whatever the levels: vermilion, long dashes</Title>
          <ogc:Filter><ogc:PropertyIsEqualTo><ogc:PropertyName>why</ogc:PropertyName><ogc:Literal>gap</ogc:Literal></ogc:PropertyIsEqualTo></ogc:Filter>
          <LineSymbolizer>
            <Stroke><CssParameter name="stroke">#d55e00</CssParameter><CssParameter name="stroke-width">6</CssParameter><CssParameter name="stroke-dasharray">12 6</CssParameter></Stroke>
          </LineSymbolizer>
        </Rule>
        <Rule>
          <Name>levels</Name>
          <Title>No levels keep all rules: purple, dots</Title>
          <ogc:Filter><ogc:PropertyIsEqualTo><ogc:PropertyName>why</ogc:PropertyName><ogc:Literal>levels</ogc:Literal></ogc:PropertyIsEqualTo></ogc:Filter>
          <LineSymbolizer>
            <Stroke><CssParameter name="stroke">#cc79a7</CssParameter><CssParameter name="stroke-width">6</CssParameter><CssParameter name="stroke-dasharray">2 5</CssParameter></Stroke>
          </LineSymbolizer>
        </Rule>
        <Rule>
          <Name>other</Name>
          <Title>For another reason: grey</Title>
          <ogc:Filter><ogc:Or><ogc:PropertyIsNull><ogc:PropertyName>why</ogc:PropertyName></ogc:PropertyIsNull><ogc:And><ogc:PropertyIsNotEqualTo><ogc:PropertyName>why</ogc:PropertyName><ogc:Literal>gap</ogc:Literal></ogc:PropertyIsNotEqualTo><ogc:PropertyIsNotEqualTo><ogc:PropertyName>why</ogc:PropertyName><ogc:Literal>levels</ogc:Literal></ogc:PropertyIsNotEqualTo></ogc:And></ogc:Or></ogc:Filter>
          <LineSymbolizer>
            <Stroke><CssParameter name="stroke">#8c8c8c</CssParameter><CssParameter name="stroke-width">6</CssParameter></Stroke>
          </LineSymbolizer>
        </Rule>
        <Rule>
          <Name>label</Name>
          <Title>What would help</Title>
          <MaxScaleDenominator>2000</MaxScaleDenominator>
          <TextSymbolizer>
            <Label><ogc:PropertyName>remedies</ogc:PropertyName></Label>
            <Font><CssParameter name="font-family">sans-serif</CssParameter><CssParameter name="font-size">9</CssParameter><CssParameter name="font-weight">normal</CssParameter></Font>
            <LabelPlacement><LinePlacement><PerpendicularOffset>10</PerpendicularOffset></LinePlacement></LabelPlacement>
            <Halo><Radius>1.5</Radius><Fill><CssParameter name="fill">#ffffff</CssParameter></Fill></Halo>
            <Fill><CssParameter name="fill">#333333</CssParameter></Fill>
          </TextSymbolizer>
        </Rule>
      </FeatureTypeStyle>
    </UserStyle>
  </NamedLayer>
</StyledLayerDescriptor>
