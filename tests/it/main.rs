mod reference_plant;
