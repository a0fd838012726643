<?xml version="1.0" encoding="UTF-8"?>
<StyledLayerDescriptor version="1.0.0"
    xmlns="http://www.opengis.net/sld" xmlns:ogc="http://www.opengis.net/ogc"
    xmlns:xlink="http://www.w3.org/1999/xlink" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"
    xsi:schemaLocation="http://www.opengis.net/sld http://schemas.opengis.net/sld/1.0.0/StyledLayerDescriptor.xsd">
  <NamedLayer>
    <Name>bore_inspections</Name>
    <UserStyle>
      <Title>Gravity pipes to be looked into by camera after boring</Title>
      <FeatureTypeStyle>
        <Rule>
          <Name>inspection</Name>
          <Title>Pipe crossed without a test hole: green star</Title>
          <PointSymbolizer>
            <Graphic><Mark><WellKnownName>star</WellKnownName><Fill><CssParameter name="fill">#009e73</CssParameter></Fill><Stroke><CssParameter name="stroke">#333333</CssParameter><CssParameter name="stroke-width">1</CssParameter></Stroke></Mark><Size>16</Size></Graphic>
          </PointSymbolizer>
        </Rule>
        <Rule>
          <Name>label</Name>
          <Title>Order, and which pipe</Title>
          <MaxScaleDenominator>1000</MaxScaleDenominator>
          <TextSymbolizer>
            <Label><ogc:PropertyName>priority</ogc:PropertyName> look into <ogc:PropertyName>kind</ogc:PropertyName></Label>
            <Font><CssParameter name="font-family">sans-serif</CssParameter><CssParameter name="font-size">9</CssParameter><CssParameter name="font-weight">normal</CssParameter></Font>
            <LabelPlacement><PointPlacement><AnchorPoint><AnchorPointX>0.0</AnchorPointX><AnchorPointY>0.5</AnchorPointY></AnchorPoint><Displacement><DisplacementX>10</DisplacementX><DisplacementY>0</DisplacementY></Displacement></PointPlacement></LabelPlacement>
            <Halo><Radius>1.5</Radius><Fill><CssParameter name="fill">#ffffff</CssParameter></Fill></Halo>
            <Fill><CssParameter name="fill">#333333</CssParameter></Fill>
          </TextSymbolizer>
        </Rule>
      </FeatureTypeStyle>
    </UserStyle>
  </NamedLayer>
</StyledLayerDescriptor>
