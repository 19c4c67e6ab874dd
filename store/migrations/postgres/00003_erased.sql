-- +goose Up
create table erased (
  hash text primary key,
  made text not null
);

-- +goose Down
drop table erased;
