package ask

import "strings"

// Three more invented sites, whose names share no word with testdata/questions/site.yaml:
// a care home in a British town, home care among Polish and Ukrainian families, and a
// ward by the Gulf. A line is name | other spellings | room; the ref is the line's number.
var otherSites = map[string]string{
	"home": `
Joy Appleby||1
Mark Stone||2
May Winter||3
Bill Short|Billy|4
Mercy Long||5
Dorothy Bishop|Dot|6
Patience Okafor||7
Chinedu Okafor||8
Ngozi Okonkwo||9
Margaret Thompson|Peggy|10
Margaret Thomson||11
Harold Baker||12a
Harriet Barker||12b
Winston Campbell||13
Delroy Campbell||14
Gurpreet Kaur||15
Harpreet Kaur||16
Manjit Singh||17
Sukhwinder Singh Gill||18
Bronwen Rhys-Jones||19
Owen Pritchard||20
Siobhán O'Sullivan||21
Seán O’Neill||22
Aoife Ní Dhomhnaill||23
Hamish MacDonald||24
Morag McDonnell||25
Wing-Yan Cheung|張詠欣|26
Kwok Ho Cheng||27
Olga Bond||28
Ivy Green||29
Pearl Black||30
Iris Brown||31
Frank Swift||32
Violet Little||33
Daisy Hill||34
Rob Wells||35
Art Banks||36
Ruth Day||37
Don Friend||38
Sue Head||39
Pat Back||40
Hazel Wood||41
Ernest Young||42
Rich Walker||43
Tulip Siddiq Begum||44
Shirin Begum||45
Rahima Khatun||46
Abdul Rahman Miah||47
Ali Yusuf||48
Amina Yusuf||49`,
	"care": `
Halina Wiśniewska||Flat 1
Helena Wiśniewska||Flat 2
Zbigniew Wiśniewski||Flat 3
Krystyna Nowak|Krysia|Flat 4
Krzysztof Nowak||Flat 5
Józef Nowakowski|Józek|Flat 6
Wanda Dąb||Flat 7
Jadwiga Kamińska-Lis|Jadzia|Flat 8
Bożena Kaczmarek||Flat 9
Barbara Kaczmarczyk|Basia|Flat 10
Ewa Ptak||Flat 11
Zofia Mróz|Zosia|Flat 12
Leon Mazur||Flat 13
Irena Zając||Flat 14
Iryna Zaiets|Ірина Заєць|Flat 15
Henryk Wilk||Flat 16
Genowefa Sikora||Flat 17
Tadeusz Sikorski||Flat 18
Danuta Wróbel||Flat 19
Marianna Chmiel||Flat 20
Mariola Chmielewska||Flat 21
Ganna Shevchenko|Ганна Шевченко|Flat 22
Taras Shevchuk|Тарас Шевчук|Flat 23
Mykola Bondar|Микола Бондар|Flat 24
Oksana Bondarenko|Оксана Бондаренко|Flat 25
Nadiia Koval|Надія Коваль|Flat 26
Vira Kovalenko|Віра Коваленко|Flat 27
Liubov Moroz|Любов Мороз|Flat 28
Volodymyr Kit|Володимир Кіт|Flat 29
Bohdan Tkachenko|Богдан Ткаченко|Flat 30
Solomiia Tkachuk|Соломія Ткачук|Flat 31
Yevhen Zhuk|Євген Жук|Flat 32
Paraskeva Hrytsenko|Параска Гриценко|Flat 33
Zinaida Lytvyn|Зінаїда Литвин|Flat 34
Hryhorii Lytvynenko|Григорій Литвиненко|Flat 35
Mychajło Senyk||Flat 36
Stefania Lis||Flat 37
Czesław Głowa||Flat 38
Łucja Stolarz||Flat 39
Ryszard Krawiec||Flat 40
Lesia Dobra|Леся Добра|Flat 41
Petro Stilets|Петро Стілець|Flat 42
Oleksa Ivashchenko|Олекса Іващенко|Flat 43
Valentyn Sych|Валентин Сич|Flat 44
Valentyna Sydorenko|Валентина Сидоренко|Flat 45`,
	"ward": `
Ahmed Al Mansoori|أحمد المنصوري|B-201
Ahmad Al Mazrouei|أحمد المزروعي|B-202
Mohammed Rashid Khan||B-203
Mohammad Rasheed||B-204
Fatima Al Suwaidi|فاطمة السويدي|B-205
Fathima Beevi||B-206
Noora Al Ketbi|نورة الكتبي|B-207
Noor Jahan|نور جهان|B-208
Amal Darwish|أمل درويش|B-209
Jamila Saleh|جميلة صالح|B-210
Saleha Jamil|صالحة جميل|B-211
Khaled Hamdan|خالد حمدان|B-212
Hamda Khalifa|حمدة خليفة|B-213
Salim Said|سالم سعيد|A-101
Saeed Salem|سعيد سالم|A-102
Karim Nasser|كريم ناصر|A-103
Naser Kareem||A-104
Rajesh Kumar|राजेश कुमार|A-105
Ramesh Kumar|रमेश कुमार|A-106
Suresh Pillai|सुरेश पिल्लई|A-107
Lakshmi Menon|लक्ष्मी मेनन|A-108
Laxmi Menon||A-109
Asha Devi|आशा देवी|A-110
Usha Devi|उषा देवी|A-111
Prem Chand|प्रेम चंद|A-112
Jyoti Rao||A-113
Sona Thapa||A-114
Sonia Thapar||A-115
Bishnu Gurung||C-1
Krishna Gurung||C-2
Imelda Bautista||C-3
Ligaya Bautista||C-4
Baby Dela Cruz||C-5
Jejomar dela Cruz||C-6
Luzviminda Reyes|Luz|C-7
Mila Reyes||C-8
Bong Katigbak||C-9
Perla Magpantay||C-10
Chathura Perera||C-11
Chaturika Pereira||C-12
Zubaida Bibi|زبیدہ بی بی|C-13
Ayesha Bibi||C-14
Daya Nand||C-15
Hari Ram|हरि राम|C-16`,
}

// otherColleagues work at all three.
var otherColleagues = []Name{{Ref: "k1", Name: "Beata Sobczak"}, {Ref: "k2", Name: "Hannah Whitfield"}, {Ref: "k3", Name: "Vijay Nambiar"}, {Ref: "k4", Name: "Huda Zayed"}}

func otherSite(name string) []Name {
	var out []Name
	for _, line := range strings.Split(strings.TrimSpace(otherSites[name]), "\n") {
		f := strings.Split(line, "|")
		n := Name{Name: f[0], Room: f[len(f)-1]}
		n.Ref = strings.ReplaceAll(strings.ToLower(n.Name), " ", "-")
		for _, a := range f[1 : len(f)-1] {
			if a != "" {
				n.Also = append(n.Also, a)
			}
		}
		out = append(out, n)
	}
	return out
}
