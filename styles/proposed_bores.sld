<?xml version="1.0" encoding="UTF-8"?>
<StyledLayerDescriptor version="1.0.0"
    xmlns="http://www.opengis.net/sld" xmlns:ogc="http://www.opengis.net/ogc"
    xmlns:xlink="http://www.w3.org/1999/xlink" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"
    xsi:schemaLocation="http://www.opengis.net/sld http://schemas.opengis.net/sld/1.0.0/StyledLayerDescriptor.xsd">
  <NamedLayer>
    <Name>proposed_bores</Name>
    <UserStyle>
      <Title>Proposed bores, arrows with the flow</Title>
      <FeatureTypeStyle>
        <Rule>
          <Name>bore</Name>
          <Title>Bore: dark line on white</Title>
          <LineSymbolizer>
            <Stroke><CssParameter name="stroke">#ffffff</CssParameter><CssParameter name="stroke-width">5</CssParameter></Stroke>
          </LineSymbolizer>
          <LineSymbolizer>
            <Stroke><CssParameter name="stroke">#333333</CssParameter><CssParameter name="stroke-width">2.5</CssParameter></Stroke>
          </LineSymbolizer>
        </Rule>
        <Rule>
          <Name>launched-upstream</Name>
          <Title>Arrow with the flow, of a bore launched at its upstream pit</Title>
          <ogc:Filter><ogc:PropertyIsEqualTo><ogc:PropertyName>launch_pit</ogc:PropertyName><ogc:PropertyName>us_pit</ogc:PropertyName></ogc:PropertyIsEqualTo></ogc:Filter>
          <PointSymbolizer>
            <Graphic><Mark><WellKnownName>triangle</WellKnownName><Fill><CssParameter name="fill">#333333</CssParameter></Fill><Stroke><CssParameter name="stroke">#ffffff</CssParameter><CssParameter name="stroke-width">1</CssParameter></Stroke></Mark><Size>14</Size><Rotation><ogc:PropertyName>bearing_deg</ogc:PropertyName></Rotation></Graphic>
          </PointSymbolizer>
        </Rule>
        <Rule>
          <Name>launched-downstream</Name>
          <Title>Arrow with the flow, of a bore launched at its downstream pit</Title>
          <ogc:Filter><ogc:PropertyIsEqualTo><ogc:PropertyName>launch_pit</ogc:PropertyName><ogc:PropertyName>ds_pit</ogc:PropertyName></ogc:PropertyIsEqualTo></ogc:Filter>
          <PointSymbolizer>
            <Graphic><Mark><WellKnownName>triangle</WellKnownName><Fill><CssParameter name="fill">#333333</CssParameter></Fill><Stroke><CssParameter name="stroke">#ffffff</CssParameter><CssParameter name="stroke-width">1</CssParameter></Stroke></Mark><Size>14</Size><Rotation><ogc:Add><ogc:PropertyName>bearing_deg</ogc:PropertyName><ogc:Literal>180</ogc:Literal></ogc:Add></Rotation></Graphic>
          </PointSymbolizer>
        </Rule>
        <Rule>
          <Name>label</Name>
          <Title>Length (m), grade, least cover (m)</Title>
          <MaxScaleDenominator>3000</MaxScaleDenominator>
          <TextSymbolizer>
            <Label><ogc:PropertyName>bore_id</ogc:PropertyName>  <ogc:Function name="numberFormat"><ogc:Literal>0.0</ogc:Literal><ogc:PropertyName>length_m</ogc:PropertyName></ogc:Function> m  1:<ogc:Function name="numberFormat"><ogc:Literal>0</ogc:Literal><ogc:PropertyName>grade_1_in</ogc:PropertyName></ogc:Function>  cover <ogc:Function name="numberFormat"><ogc:Literal>0.00</ogc:Literal><ogc:PropertyName>min_cover_m</ogc:PropertyName></ogc:Function> m</Label>
            <Font><CssParameter name="font-family">sans-serif</CssParameter><CssParameter name="font-size">10</CssParameter><CssParameter name="font-weight">normal</CssParameter></Font>
            <LabelPlacement><LinePlacement><PerpendicularOffset>10</PerpendicularOffset></LinePlacement></LabelPlacement>
            <Halo><Radius>1.5</Radius><Fill><CssParameter name="fill">#ffffff</CssParameter></Fill></Halo>
            <Fill><CssParameter name="fill">#333333</CssParameter></Fill>
          </TextSymbolizer>
        </Rule>
      </FeatureTypeStyle>
    </UserStyle>
  </NamedLayer>
</StyledLayerDescriptor>
