<?xml version="1.0" encoding="UTF-8"?>
<StyledLayerDescriptor version="1.0.0"
    xmlns="http://www.opengis.net/sld" xmlns:ogc="http://www.opengis.net/ogc"
    xmlns:xlink="http://www.w3.org/1999/xlink" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"
    xsi:schemaLocation="http://www.opengis.net/sld http://schemas.opengis.net/sld/1.0.0/StyledLayerDescriptor.xsd">
  <NamedLayer>
    <Name>conflict_changes</Name>
    <UserStyle>
      <Title>What has changed since an earlier check</Title>
      <FeatureTypeStyle>
        <Rule>
          <Name>new</Name>
          <Title>New: vermilion cross</Title>
          <ogc:Filter><ogc:PropertyIsEqualTo><ogc:PropertyName>change</ogc:PropertyName><ogc:Literal>new</ogc:Literal></ogc:PropertyIsEqualTo></ogc:Filter>
          <PointSymbolizer>
            <Graphic><Mark><WellKnownName>cross</WellKnownName><Fill><CssParameter name="fill">#d55e00</CssParameter></Fill><Stroke><CssParameter name="stroke">#333333</CssParameter><CssParameter name="stroke-width">1</CssParameter></Stroke></Mark><Size>15</Size></Graphic>
          </PointSymbolizer>
        </Rule>
        <Rule>
          <Name>worse</Name>
          <Title>Worse: purple triangle, point up</Title>
          <ogc:Filter><ogc:PropertyIsEqualTo><ogc:PropertyName>change</ogc:PropertyName><ogc:Literal>worse</ogc:Literal></ogc:PropertyIsEqualTo></ogc:Filter>
          <PointSymbolizer>
            <Graphic><Mark><WellKnownName>triangle</WellKnownName><Fill><CssParameter name="fill">#cc79a7</CssParameter></Fill><Stroke><CssParameter name="stroke">#333333</CssParameter><CssParameter name="stroke-width">1</CssParameter></Stroke></Mark><Size>15</Size></Graphic>
          </PointSymbolizer>
        </Rule>
        <Rule>
          <Name>better</Name>
          <Title>Better: blue triangle, point down</Title>
          <ogc:Filter><ogc:PropertyIsEqualTo><ogc:PropertyName>change</ogc:PropertyName><ogc:Literal>better</ogc:Literal></ogc:PropertyIsEqualTo></ogc:Filter>
          <PointSymbolizer>
            <Graphic><Mark><WellKnownName>triangle</WellKnownName><Fill><CssParameter name="fill">#0072b2</CssParameter></Fill><Stroke><CssParameter name="stroke">#333333</CssParameter><CssParameter name="stroke-width">1</CssParameter></Stroke></Mark><Size>15</Size><Rotation>180</Rotation></Graphic>
          </PointSymbolizer>
        </Rule>
        <Rule>
          <Name>gone</Name>
          <Title>Gone from the records: open square</Title>
          <ogc:Filter><ogc:PropertyIsEqualTo><ogc:PropertyName>change</ogc:PropertyName><ogc:Literal>gone</ogc:Literal></ogc:PropertyIsEqualTo></ogc:Filter>
          <PointSymbolizer>
            <Graphic><Mark><WellKnownName>square</WellKnownName><Fill><CssParameter name="fill">#ffffff</CssParameter></Fill><Stroke><CssParameter name="stroke">#333333</CssParameter><CssParameter name="stroke-width">1</CssParameter></Stroke></Mark><Size>15</Size></Graphic>
          </PointSymbolizer>
        </Rule>
        <Rule>
          <Name>other</Name>
          <Title>Another change: grey disc</Title>
          <ogc:Filter><ogc:Or><ogc:PropertyIsNull><ogc:PropertyName>change</ogc:PropertyName></ogc:PropertyIsNull><ogc:And><ogc:PropertyIsNotEqualTo><ogc:PropertyName>change</ogc:PropertyName><ogc:Literal>new</ogc:Literal></ogc:PropertyIsNotEqualTo><ogc:PropertyIsNotEqualTo><ogc:PropertyName>change</ogc:PropertyName><ogc:Literal>worse</ogc:Literal></ogc:PropertyIsNotEqualTo><ogc:PropertyIsNotEqualTo><ogc:PropertyName>change</ogc:PropertyName><ogc:Literal>better</ogc:Literal></ogc:PropertyIsNotEqualTo><ogc:PropertyIsNotEqualTo><ogc:PropertyName>change</ogc:PropertyName><ogc:Literal>gone</ogc:Literal></ogc:PropertyIsNotEqualTo></ogc:And></ogc:Or></ogc:Filter>
          <PointSymbolizer>
            <Graphic><Mark><WellKnownName>circle</WellKnownName><Fill><CssParameter name="fill">#8c8c8c</CssParameter></Fill><Stroke><CssParameter name="stroke">#333333</CssParameter><CssParameter name="stroke-width">1</CssParameter></Stroke></Mark><Size>8</Size></Graphic>
          </PointSymbolizer>
        </Rule>
        <Rule>
          <Name>label</Name>
          <Title>Change, and of which kind</Title>
          <MaxScaleDenominator>1000</MaxScaleDenominator>
          <TextSymbolizer>
            <Label><ogc:PropertyName>change</ogc:PropertyName> <ogc:PropertyName>kind</ogc:PropertyName></Label>
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
