<?xml version="1.0" encoding="UTF-8"?>
<StyledLayerDescriptor version="1.0.0"
    xmlns="http://www.opengis.net/sld" xmlns:ogc="http://www.opengis.net/ogc"
    xmlns:xlink="http://www.w3.org/1999/xlink" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"
    xsi:schemaLocation="http://www.opengis.net/sld http://schemas.opengis.net/sld/1.0.0/StyledLayerDescriptor.xsd">
  <NamedLayer>
    <Name>alternative_bores</Name>
    <UserStyle>
      <Title>Bores of the next cheapest plans</Title>
      <FeatureTypeStyle>
        <Rule>
          <Name>bore</Name>
          <Title>Bore of another plan: thin grey, dashed</Title>
          <LineSymbolizer>
            <Stroke><CssParameter name="stroke">#8c8c8c</CssParameter><CssParameter name="stroke-width">1.5</CssParameter><CssParameter name="stroke-dasharray">4 3</CssParameter></Stroke>
          </LineSymbolizer>
        </Rule>
        <Rule>
          <Name>label</Name>
          <Title>Which plan</Title>
          <MaxScaleDenominator>1000</MaxScaleDenominator>
          <TextSymbolizer>
            <Label>plan <ogc:PropertyName>alternative</ogc:PropertyName></Label>
            <Font><CssParameter name="font-family">sans-serif</CssParameter><CssParameter name="font-size">9</CssParameter><CssParameter name="font-weight">normal</CssParameter></Font>
            <LabelPlacement><LinePlacement><PerpendicularOffset>8</PerpendicularOffset></LinePlacement></LabelPlacement>
            <Halo><Radius>1.5</Radius><Fill><CssParameter name="fill">#ffffff</CssParameter></Fill></Halo>
            <Fill><CssParameter name="fill">#8c8c8c</CssParameter></Fill>
          </TextSymbolizer>
        </Rule>
      </FeatureTypeStyle>
    </UserStyle>
  </NamedLayer>
</StyledLayerDescriptor>
