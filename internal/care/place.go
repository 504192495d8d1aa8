package care

// Place is where a transfer starts or ends.
type Place string

// The places a transfer can join.
const (
	Bed        Place = "bed"
	Chair      Place = "chair"
	Wheelchair Place = "wheelchair"
	Commode    Place = "commode"
	Toilet     Place = "toilet"
	Bath       Place = "bath"
	Shower     Place = "shower"
	Floor      Place = "floor"
	Car        Place = "car"
)

// Places lists every place in a fixed order.
var Places = []Place{Bed, Chair, Wheelchair, Commode, Toilet, Bath, Shower, Floor, Car}

// Side is a side of the person's own body. The zero Side means none was named.
type Side string

// Sides, always the person's, never the reader's.
const (
	Left      Side = "left"
	Right     Side = "right"
	BothSides Side = "both"
)

// Sides lists every side in a fixed order.
var Sides = []Side{Left, Right, BothSides}

// BodyPart is a part of the body that a caution or a skin finding is about.
type BodyPart string

// The parts that moving and handling speaks of.
const (
	Head     BodyPart = "head"
	Neck     BodyPart = "neck"
	Shoulder BodyPart = "shoulder"
	Arm      BodyPart = "arm"
	Elbow    BodyPart = "elbow"
	Hand     BodyPart = "hand"
	Back     BodyPart = "back"
	Spine    BodyPart = "spine"
	Sacrum   BodyPart = "sacrum"
	Hip      BodyPart = "hip"
	Groin    BodyPart = "groin"
	Thigh    BodyPart = "thigh"
	Knee     BodyPart = "knee"
	Leg      BodyPart = "leg"
	Heel     BodyPart = "heel"
	Foot     BodyPart = "foot"
)

// BodyParts lists every part from head to foot.
var BodyParts = []BodyPart{Head, Neck, Shoulder, Arm, Elbow, Hand, Back, Spine, Sacrum, Hip, Groin, Thigh, Knee, Leg, Heel, Foot}
