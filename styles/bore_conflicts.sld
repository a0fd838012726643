<?xml version="1.0" encoding="UTF-8"?>
<StyledLayerDescriptor version="1.0.0"
    xmlns="http://www.opengis.net/sld" xmlns:ogc="http://www.opengis.net/ogc"
    xmlns:xlink="http://www.w3.org/1999/xlink" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"
    xsi:schemaLocation="http://www.opengis.net/sld http://schemas.opengis.net/sld/1.0.0/StyledLayerDescriptor.xsd">
  <NamedLayer>
    <Name>bore_conflicts</Name>
    <UserStyle>
      <Title>What bores and pits come near, by verdict</Title>
      <FeatureTypeStyle>
        <Rule>
          <Name>clear</Name>
          <Title>Clear by the records: small grey dot</Title>
          <ogc:Filter><ogc:PropertyIsEqualTo><ogc:PropertyName>verdict</ogc:PropertyName><ogc:Literal>clear</ogc:Literal></ogc:PropertyIsEqualTo></ogc:Filter>
          <PointSymbolizer>
            <Graphic><Mark><WellKnownName>circle</WellKnownName><Fill><CssParameter name="fill">#8c8c8c</CssParameter></Fill><Stroke><CssParameter name="stroke">#ffffff</CssParameter><CssParameter name="stroke-width">0.5</CssParameter></Stroke></Mark><Size>5</Size></Graphic>
          </PointSymbolizer>
        </Rule>
        <Rule>
          <Name>watch</Name>
          <Title>Watch: yellow square</Title>
          <ogc:Filter><ogc:PropertyIsEqualTo><ogc:PropertyName>verdict</ogc:PropertyName><ogc:Literal>watch</ogc:Literal></ogc:PropertyIsEqualTo></ogc:Filter>
          <PointSymbolizer>
            <Graphic><Mark><WellKnownName>square</WellKnownName><Fill><CssParameter name="fill">#f0e442</CssParameter></Fill><Stroke><CssParameter name="stroke">#333333</CssParameter><CssParameter name="stroke-width">1</CssParameter></Stroke></Mark><Size>10</Size></Graphic>
          </PointSymbolizer>
        </Rule>
        <Rule>
          <Name>prove</Name>
          <Title>Prove, depth unknown: purple triangle</Title>
          <ogc:Filter><ogc:PropertyIsEqualTo><ogc:PropertyName>verdict</ogc:PropertyName><ogc:Literal>prove</ogc:Literal></ogc:PropertyIsEqualTo></ogc:Filter>
          <PointSymbolizer>
            <Graphic><Mark><WellKnownName>triangle</WellKnownName><Fill><CssParameter name="fill">#cc79a7</CssParameter></Fill><Stroke><CssParameter name="stroke">#333333</CssParameter><CssParameter name="stroke-width">1</CssParameter></Stroke></Mark><Size>13</Size></Graphic>
          </PointSymbolizer>
        </Rule>
        <Rule>
          <Name>clash</Name>
          <Title>Clash: vermilion cross</Title>
          <ogc:Filter><ogc:PropertyIsEqualTo><ogc:PropertyName>verdict</ogc:PropertyName><ogc:Literal>clash</ogc:Literal></ogc:PropertyIsEqualTo></ogc:Filter>
          <PointSymbolizer>
            <Graphic><Mark><WellKnownName>x</WellKnownName><Fill><CssParameter name="fill">#d55e00</CssParameter></Fill><Stroke><CssParameter name="stroke">#333333</CssParameter><CssParameter name="stroke-width">1</CssParameter></Stroke></Mark><Size>16</Size></Graphic>
          </PointSymbolizer>
        </Rule>
        <Rule>
          <Name>other</Name>
          <Title>Another verdict: open circle</Title>
          <ogc:Filter><ogc:Or><ogc:PropertyIsNull><ogc:PropertyName>verdict</ogc:PropertyName></ogc:PropertyIsNull><ogc:And><ogc:PropertyIsNotEqualTo><ogc:PropertyName>verdict</ogc:PropertyName><ogc:Literal>clash</ogc:Literal></ogc:PropertyIsNotEqualTo><ogc:PropertyIsNotEqualTo><ogc:PropertyName>verdict</ogc:PropertyName><ogc:Literal>prove</ogc:Literal></ogc:PropertyIsNotEqualTo><ogc:PropertyIsNotEqualTo><ogc:PropertyName>verdict</ogc:PropertyName><ogc:Literal>watch</ogc:Literal></ogc:PropertyIsNotEqualTo><ogc:PropertyIsNotEqualTo><ogc:PropertyName>verdict</ogc:PropertyName><ogc:Literal>clear</ogc:Literal></ogc:PropertyIsNotEqualTo></ogc:And></ogc:Or></ogc:Filter>
          <PointSymbolizer>
            <Graphic><Mark><WellKnownName>circle</WellKnownName><Fill><CssParameter name="fill">#ffffff</CssParameter></Fill><Stroke><CssParameter name="stroke">#333333</CssParameter><CssParameter name="stroke-width">1</CssParameter></Stroke></Mark><Size>8</Size></Graphic>
          </PointSymbolizer>
        </Rule>
        <Rule>
          <Name>label</Name>
          <Title>Verdict and what is met</Title>
          <ogc:Filter><ogc:Or><ogc:PropertyIsEqualTo><ogc:PropertyName>verdict</ogc:PropertyName><ogc:Literal>clash</ogc:Literal></ogc:PropertyIsEqualTo><ogc:PropertyIsEqualTo><ogc:PropertyName>verdict</ogc:PropertyName><ogc:Literal>prove</ogc:Literal></ogc:PropertyIsEqualTo><ogc:PropertyIsEqualTo><ogc:PropertyName>verdict</ogc:PropertyName><ogc:Literal>watch</ogc:Literal></ogc:PropertyIsEqualTo></ogc:Or></ogc:Filter>
          <MaxScaleDenominator>1000</MaxScaleDenominator>
          <TextSymbolizer>
            <Label><ogc:PropertyName>verdict</ogc:PropertyName> <ogc:PropertyName>kind</ogc:PropertyName></Label>
            <Font><CssParameter name="font-family">sans-serif</CssParameter><CssParameter name="font-size">9</CssParameter><CssParameter name="font-weight">normal</CssParameter></Font>
            <LabelPlacement><PointPlacement><AnchorPoint><AnchorPointX>0.0</AnchorPointX><AnchorPointY>0.5</AnchorPointY></AnchorPoint><Displacement><DisplacementX>10</DisplacementX><DisplacementY>-8</DisplacementY></Displacement></PointPlacement></LabelPlacement>
            <Halo><Radius>1.5</Radius><Fill><CssParameter name="fill">#ffffff</CssParameter></Fill></Halo>
            <Fill><CssParameter name="fill">#333333</CssParameter></Fill>
          </TextSymbolizer>
        </Rule>
      </FeatureTypeStyle>
    </UserStyle>
  </NamedLayer>
</StyledLayerDescriptor>
