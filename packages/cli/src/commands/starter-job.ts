// An invented part, small enough to be read at a glance, with one example of most things.

const jobJson = `{
  "schemaVersion": "job/1",
  "units": "mm",
  "part": {
    "name": "Starter bracket",
    "number": "ST-1",
    "revision": "A",
    "material": "s17400",
    "printer": "pbf-lb",
    "endUse": "static",
    "condition": "H1025",
    "note": "Invented part: change every field, guide.md says what each one means"
  },
  "geometry": {
    "volume": "21.5 cm3",
    "surfaceArea": "118 cm2",
    "box": [62, 40, 28],
    "plateSection": "14.5 cm2",
    "thickestSection": 12,
    "thinnestWall": 3,
    "trappedPowder": "none",
    "supports": { "latticeArea": "3.2 cm2", "latticeAccess": "open", "solidArea": 0 }
  },
  "order": {
    "quantity": 12,
    "currency": "EUR",
    "partsPerPlate": 6,
    "quantityBreaks": [1, 12, 50]
  },
  "generalTolerance": "ISO 2768-mK",
  "features": "features.csv",
  "policy": { "objective": "cost", "minimumProbability": 0.9973, "outsideWork": true }
}
`;

const featuresCsv = `id,kind,name,count,size,Ra,length,width,depth,area,facing,supported,access,datum,tolerances,location,note
P1,plane,foot,1,28 ±0.1,3.2,62,40,,,down,no,-z,A,flatness 0.05,,the face on the build plate; everything is located from it
P2,plane,end face,1,20 ±0.05,1.6,40,28,,,side,no,+x,B,perpendicularity 0.05 A,,a datum that is itself located from datum A
B1,bore,bearing seat,1,12 H7,1.6,,,18,,up,no,+z,,position 0.2 A B,22,a fit code; location is the distance from the datums
T1,thread,fixing holes,4,M4-6H,,,,10,,up,no,+z,,position ⌀0.3 A B,25,four alike
S1,slot,key slot,1,6 +0.05/0,3.2,15,,4,,up,no,+z,,,,limits as two deviations
H1,bore,cable hole,1,8,,,,12,,up,no,+z,,,,no limits of its own: the general tolerance holds
F1,freeform,outside,1,,12.5,,,,5200,angled,yes,all,,,,only a roughness; carries supports
`;

const guideMd = `# Guide to the job files

Plan with \`offplate plan .\` in this folder. A mistake in the files is reported with its place and with
what would be accepted; all mistakes come at once.

JSON has no comments, so this page explains the fields. Lengths, areas and volumes are in mm, mm2 and
mm3 (in, in2 and in3 with \`"units": "in"\`) unless they are written as a text with a unit:
\`"21.5 cm3"\`, \`"0.8 in"\`. Roughness is in µm. Leave out what you do not know; the plan lists what it
assumed instead.

## job.json

| field | what |
|---|---|
| part.material | id of an alloy: \`offplate catalog materials\` |
| part.printer | \`pbf-lb\` laser beam, \`pbf-eb\` electron beam |
| part.endUse | \`static\`, \`fatigue\`, \`pressure\`, \`corrosion\`, \`high-temperature\`, \`wear\`, \`prototype\` |
| part.condition | heat-treated condition that the drawing names, e.g. \`SR\`, \`HIP\`, \`H1025\` |
| part.standards, hazards, regulated, note | lists of texts; \`true\` when the part needs an approved procedure; a text |
| geometry.mesh, meshUnits | STL or 3MF file in this folder, printed as it stands with z up; what is left out below is measured on it. Unit of an STL: \`mm\` or \`in\` |
| geometry.box | extents along x, y and the build direction z |
| geometry.plateSection | area in which the part itself meets the build plate |
| geometry.thickestSection | sets the soak time in the furnace |
| geometry.trappedPowder | \`none\`, \`open-channels\`, \`closed-cavity\`, \`unknown\` |
| geometry.supports | areas of lattice and solid supports; can a hand tool reach the lattice: \`open\` or \`internal\` |
| order.startOn, dueOn | days YYYY-MM-DD; with both the plan says whether the lot is late |
| order.quantityBreaks | other quantities to price |
| generalTolerance | for sizes without limits, e.g. \`ISO 2768-mK\` |
| features | name of the table in this folder, or the features themselves as a list |
| policy.objective | \`cost\`, \`days\`, or \`weighted\` with \`costPerDay\` |
| policy.required, forbidden | ids of processes or treatments: \`offplate catalog processes\` |
| policy.minimumProbability | least probability with which each requirement is met |
| policy.outsideWork | whether suppliers may be used |

## features.csv

Comma, semicolon or tab between the cells; with semicolons or tabs also a decimal comma. Other columns
are kept and not used.

| column | what |
|---|---|
| id | name of the feature, unique |
| kind | \`plane\`, \`bore\`, \`shaft\`, \`slot\`, \`thread\`, \`freeform\`, \`channel\`, \`radius\` |
| count | how many alike |
| size | as on the drawing: \`25 H7\`, \`12 ±0.05\`, \`40 +0.1/-0\`, \`19.95-20.05\`, \`max 5\`, \`M8-6H\` |
| Ra, Rz | largest roughness, µm |
| length, width, depth, area | of one of them |
| facing | \`up\`, \`down\`, \`side\`, \`angled\` while it was printed |
| supported | \`yes\` when it carries supports |
| access | sides that a tool can come from: \`+x -x +y -y +z -z\`, \`all\` |
| datum | datum letter that the feature carries |
| tolerances | geometric tolerances with \`;\` between them: \`flatness 0.02\`, \`position 0.05 A B\` |
| location | distance from the datums |
| finishes | part-wide finishes that may act on it, with \`|\` between them; empty = any |
| note | anything |
`;

export const starterFiles: Readonly<Record<string, string>> = {
  'job.json': jobJson,
  'features.csv': featuresCsv,
  'guide.md': guideMd,
};
