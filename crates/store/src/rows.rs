//! From rows to the nouns of the trade: each stored row is distrusted once, in its `TryFrom`.

use crate::StoreError;
use model::VehicleId;
use uuid::Uuid;

/// The ids as one text parameter for a piece `ids: "$n"` of [`statements!`](crate::statements).
pub fn id_list<I: Into<Uuid>>(ids: impl IntoIterator<Item = I>) -> String {
    let mut list = String::from("[");
    for id in ids {
        if list.len() > 1 {
            list.push(',');
        }
        list.push('"');
        list.push_str(id.into().simple().encode_lower(&mut Uuid::encode_buffer()));
        list.push('"');
    }
    list.push(']');
    list
}

/// Every row as what it stands for, or the first that does not parse.
pub(crate) fn each<R, T>(rows: Vec<R>) -> Result<Vec<T>, StoreError>
where
    T: TryFrom<R, Error = StoreError>,
{
    rows.into_iter().map(T::try_from).collect()
}

/// The row, if there is one, as what it stands for.
pub(crate) fn one<R, T>(row: Option<R>) -> Result<Option<T>, StoreError>
where
    T: TryFrom<R, Error = StoreError>,
{
    row.map(T::try_from).transpose()
}

/// Every row's fact, without the vehicle it is about.
pub(crate) fn each_fact<R, T>(rows: Vec<R>) -> Result<Vec<T>, StoreError>
where
    (VehicleId, T): TryFrom<R, Error = StoreError>,
{
    rows.into_iter().map(|row| <(VehicleId, T)>::try_from(row).map(|(_, fact)| fact)).collect()
}

/// The row's fact, if there is one, without the vehicle it is about.
pub(crate) fn one_fact<R, T>(row: Option<R>) -> Result<Option<T>, StoreError>
where
    (VehicleId, T): TryFrom<R, Error = StoreError>,
{
    Ok(row.map(<(VehicleId, T)>::try_from).transpose()?.map(|(_, fact)| fact))
}
